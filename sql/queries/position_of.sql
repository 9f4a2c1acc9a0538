-- Where the registry stood when a generation was its newest: the last delivery
-- before the first one that made a later generation.
select $1::bigint as generation, coalesce((select max(d.no) from ledger.delivery d where d.outcome = 'loaded'
    and d.no < coalesce((select min(g.delivery_no) from ledger.generation g where g.no > $1 and g.delivery_no is not null), d.no + 1)), 0) as delivery;
