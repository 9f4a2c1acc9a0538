select d.no, s.code as source, d.manifest, d.sequence, d.coverage, d.mode, d.privacy, coalesce(d.agreement, '') as agreement,
    d.synthetic, d.extracted_at,
    (12 * extract(year from d.month_from) + extract(month from d.month_from) - 1)::integer as month_from,
    (12 * extract(year from d.month_to) + extract(month from d.month_to) - 1)::integer as month_to,
    coalesce((select array_agg(u.code order by u.code) from ledger.delivery_unit x join registry.unit u on u.no = x.unit_no
        where x.delivery_no = d.no), '{}') as units
from ledger.delivery d
join registry.source s on s.no = d.source_no
where d.outcome = 'loaded' and ($1::bigint is null or d.no <= $1)
order by s.code, d.sequence;
