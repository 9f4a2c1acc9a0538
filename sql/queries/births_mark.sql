insert into ledger.births_seen (source_no, unit_no, month, sequence)
select distinct $1::smallint, unit_no, month, $2::bigint from arrival_births
on conflict (source_no, unit_no, month) do update set sequence = excluded.sequence;
