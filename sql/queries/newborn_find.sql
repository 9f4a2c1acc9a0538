-- Newborns whose key begins so, in their current version.
select s.code as source, d.source_no, d.key::text as key, u.code as unit, d.withdrawn,
    (12 * extract(year from d.month) + extract(month from d.month) - 1)::integer as month
from registry.document d
join registry.source s on s.no = d.source_no
join registry.unit u on u.no = d.unit_no
where d.gen_to is null and d.key between $1::uuid and $2::uuid
order by s.code, d.key
limit $3;
