insert into issue.issued_cell (kind, unit, period, no, place, measure, month, met, known, eligible, value, printed, basis)
values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13);
