-- Where the registry stood when the last delivery extracted up to a moment was
-- in, before the first one extracted later; and the newest extraction of all.
with later as (
    select min(no) as no from ledger.delivery where outcome = 'loaded' and extracted_at > $1
), inside as (
    select d.* from ledger.delivery d where d.outcome = 'loaded' and d.no < coalesce((select no from later), d.no + 1)
)
select coalesce((select max(no) from inside), 0) as delivery,
    coalesce((select max(g.no) from ledger.generation g
        where g.no < coalesce((select min(x.no) from ledger.generation x
            where x.delivery_no >= (select no from later)), g.no + 1)), 0) as generation,
    (select count(*) from ledger.delivery d where d.outcome = 'loaded' and d.extracted_at <= $1
        and d.no > (select no from later)) as astray,
    (select max(extracted_at) from ledger.delivery where outcome = 'loaded') as newest;
