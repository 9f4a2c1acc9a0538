insert into measure.definition (id, hash, version, body, generation)
select $1, $2, $3, $4, generation from ledger.counter
on conflict (id, hash) do nothing;
