-- Unit-months of this delivery that belong to another source.
select u.code as unit, (12 * extract(year from o.month) + extract(month from o.month) - 1)::integer as month, s.code as source
from (select distinct unit_no, month, source_no from arrival where not withdrawn) a
join registry.unit_month o on o.unit_no = a.unit_no and o.month = a.month and o.source_no <> a.source_no
join registry.unit u on u.no = o.unit_no
join registry.source s on s.no = o.source_no
order by u.code, o.month;
