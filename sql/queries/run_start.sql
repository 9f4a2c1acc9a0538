insert into ledger.run (no, program, started_at, state)
select coalesce(max(no), 0) + 1, $1, $2, 'running' from ledger.run returning no;
