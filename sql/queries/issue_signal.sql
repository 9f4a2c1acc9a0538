insert into issue.issued_signal (kind, unit, period, no, place, measure, rule, month_from, month_to, direction)
values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10);
