-- Unit-months without a cell of every measure on this basis that is as new as
-- the newest change.
with basis as (
    select * from unnest($1::text[], $2::text[], $3::smallint[]) b (measure, definition, derivation)
), have as (
    select c.unit_no, c.month, count(distinct c.measure) as measures, min(c.generation) as generation,
        bool_and(c.definition = b.definition and c.derivation = b.derivation) as fits
    from measure.cell c
    join basis b on b.measure = c.measure
    group by c.unit_no, c.month
)
select u.code as unit, (12 * extract(year from o.month) + extract(month from o.month) - 1)::integer as month
from registry.unit_month o
join registry.unit u on u.no = o.unit_no
left join have h on h.unit_no = o.unit_no and h.month = o.month
where coalesce(h.measures, 0) < (select count(*) from basis) or not h.fits or h.generation < o.changed
order by u.code, o.month;
