-- Newborns kept out, by rule, that nothing settled. A newborn with a key counts
-- once and is settled when a later delivery brought the key in; a row without a
-- readable key is settled by a later complete delivery of the same months.
select rule, count(*) as n
from (
    select distinct on (d.source_no, coalesce(h.key::text, d.no || ':' || h.file || ':' || h.line)) h.rule
    from ledger.delivery d
    join ledger.delivery_unit x on x.delivery_no = d.no
    join registry.unit u on u.no = x.unit_no
    join ledger.held h on h.delivery_no = d.no
    where d.outcome = 'loaded' and u.code = $1 and $2::date between d.month_from and d.month_to
        and not h.with_newborn and h.file not in ('events.csv', 'births.csv')
        and not exists (select from registry.seen s
            where s.source_no = d.source_no and s.key = h.key and s.sequence > d.sequence)
        and not exists (select from ledger.delivery later
            where h.key is null and later.outcome = 'loaded' and later.source_no = d.source_no and later.sequence > d.sequence
                and later.mode = 'complete' and later.month_from <= d.month_from and later.month_to >= d.month_to)
    order by d.source_no, coalesce(h.key::text, d.no || ':' || h.file || ':' || h.line), d.sequence desc, h.column_no
) newborn
group by rule
order by rule;
