insert into ledger.births (source_no, unit_no, month, gestation_wk, births, gen_from)
select $1, unit_no, month, gestation_wk, births, $2 from arrival_births;
