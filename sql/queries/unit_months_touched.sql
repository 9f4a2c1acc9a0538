select u.code as unit, (12 * extract(year from o.month) + extract(month from o.month) - 1)::integer as month
from registry.unit_month o
join registry.unit u on u.no = o.unit_no
where o.changed > $1
order by u.code, o.month;
