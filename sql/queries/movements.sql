-- What happened to the newborns of a unit since a generation, by month: each key
-- as it was then beside as it is now.
with touched as (
    select distinct d.source_no, d.key from registry.document d
    where d.unit_no = (select no from registry.unit where code = $1) and (d.gen_from > $2 or d.gen_to > $2)
), was as (
    select d.* from touched t join registry.document d using (source_no, key)
    where d.gen_from <= $2 and (d.gen_to is null or d.gen_to > $2) and not d.withdrawn
), has as (
    select d.* from touched t join registry.document d using (source_no, key)
    where d.gen_to is null and not d.withdrawn
), pairs as (
    select w.unit_no as old_unit, w.month as old_month, h.unit_no as new_unit, h.month as new_month,
        w.digest is distinct from h.digest as differs, (w.unit_no, w.month) is not distinct from (h.unit_no, h.month) as stays
    from was w full join has h using (source_no, key)
), sides as (
    select old_unit as unit_no, old_month as month, 0 as added, (stays and differs)::integer as revised,
        (new_unit is null)::integer as withdrawn, 0 as moved_in, (new_unit is not null and not stays)::integer as moved_out
    from pairs where old_unit is not null
    union all
    select new_unit, new_month, (old_unit is null)::integer, 0, 0, (old_unit is not null and not stays)::integer, 0
    from pairs where new_unit is not null
)
select (12 * extract(year from month) + extract(month from month) - 1)::integer as month,
    sum(added) as added, sum(revised) as revised, sum(withdrawn) as withdrawn, sum(moved_in) as moved_in, sum(moved_out) as moved_out
from sides
where unit_no = (select no from registry.unit where code = $1)
group by month
having sum(added + revised + withdrawn + moved_in + moved_out) > 0
order by 1;
