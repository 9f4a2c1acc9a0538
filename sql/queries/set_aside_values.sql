-- Values set aside, by rule, in the versions that are current.
select a.rule, count(*) as n
from registry.document d
join registry.unit u on u.no = d.unit_no
join ledger.generation g on g.no = d.gen_from
join ledger.set_aside a on a.delivery_no = g.delivery_no and a.key = d.key
where u.code = $1 and d.month = $2::date and d.gen_to is null and not d.withdrawn
group by a.rule
order by a.rule;
