insert into measure.baseline (unit_no, measure, phase, definition, derivation, month_from, month_to, chart, period, centre,
    spread, points, denominator, provisional, reason, generation)
values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
on conflict (unit_no, measure, phase, definition, derivation) do nothing;
