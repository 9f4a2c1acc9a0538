update ledger.births b set gen_to = $2
where b.source_no = $1 and b.gen_to is null and (b.unit_no, b.month) in (select unit_no, month from arrival_births);
