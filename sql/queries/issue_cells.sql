select measure, (12 * extract(year from month) + extract(month from month) - 1)::integer as month, met, known, eligible, value, printed, basis
from issue.issued_cell
where kind = $1 and unit = $2 and period = $3 and no = $4
order by place;
