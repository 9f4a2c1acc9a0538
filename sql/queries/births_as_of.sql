select u.code as unit, (12 * extract(year from b.month) + extract(month from b.month) - 1)::integer as month,
    b.gestation_wk as gestation, sum(b.births)::bigint as births
from ledger.births b
join registry.unit u on u.no = b.unit_no
where b.gen_from <= $2 and (b.gen_to is null or b.gen_to > $2) and ($1::text[] is null or u.code = any ($1))
group by u.code, b.month, b.gestation_wk
order by u.code, b.month, b.gestation_wk;
