-- Newborns kept out, by unit and rule, of deliveries up to one that touch months
-- of a stretch, and that nothing up to then settled. A newborn with a key counts
-- once and is settled when a later delivery brought in a new version of it; a row
-- without a readable key is settled by a later complete delivery of its months.
select unit, rule, count(*) as n
from (
    select distinct on (u.code, d.source_no, coalesce(h.key::text, d.no || ':' || h.file || ':' || h.line)) u.code as unit, h.rule
    from ledger.delivery d
    join ledger.delivery_unit x on x.delivery_no = d.no
    join registry.unit u on u.no = x.unit_no
    join ledger.held h on h.delivery_no = d.no
    where d.outcome = 'loaded' and d.no <= $1 and d.month_from <= $4::date and d.month_to >= $3::date
        and not h.with_newborn and h.file not in ('events.csv', 'births.csv')
        and not exists (select from registry.document o
            where o.source_no = d.source_no and o.key = h.key and o.sequence > d.sequence and o.gen_from <= $2)
        and not exists (select from ledger.delivery later
            where h.key is null and later.outcome = 'loaded' and later.no <= $1 and later.source_no = d.source_no and later.sequence > d.sequence
                and later.mode = 'complete' and later.month_from <= d.month_from and later.month_to >= d.month_to)
    order by u.code, d.source_no, coalesce(h.key::text, d.no || ':' || h.file || ':' || h.line), d.sequence desc, h.column_no
) newborn
group by unit, rule
order by unit, rule;
