select measure, rule, (12 * extract(year from month_from) + extract(month from month_from) - 1)::integer as month_from,
    (12 * extract(year from month_to) + extract(month from month_to) - 1)::integer as month_to, direction
from issue.issued_signal
where kind = $1 and unit = $2 and period = $3 and no = $4
order by place;
