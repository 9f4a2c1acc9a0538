-- Decides what becomes of a batch of documents, and remembers the sequence in
-- which each key was seen. Both parts see the state before the statement, so
-- a key that this delivery has already shown has its own sequence in seen.
with x as materialized (
    select o, key, digest, withdrawn
    from unnest($2::uuid[], $3::uuid[], $4::boolean[]) with ordinality x (key, digest, withdrawn, o)
), mark as (
    insert into registry.seen as s (source_no, key, sequence)
    select $1::smallint, key, $5::bigint from x
    on conflict (source_no, key) do update set sequence = excluded.sequence where s.sequence < excluded.sequence
)
select
    case
        when s.sequence = $5::bigint then 'repeated'
        when s.sequence > $5::bigint then 'superseded'
        when d.key is null and x.withdrawn then 'withdrawn'
        when d.key is null then 'loaded'
        when d.withdrawn = x.withdrawn and d.digest = x.digest then 'unchanged'
        when x.withdrawn then 'withdrawn'
        else 'revised'
    end as fate,
    d.key is not null as known,
    coalesce(not d.withdrawn, false) as has_facts
from x
left join registry.seen s on s.source_no = $1::smallint and s.key = x.key
left join registry.document d on d.source_no = $1::smallint and d.key = x.key and d.gen_to is null
order by x.o;
