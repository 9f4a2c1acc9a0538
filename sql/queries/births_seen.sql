-- Months that a later delivery has already told stay as they are.
delete from arrival_births a using ledger.births_seen s
where s.source_no = $1 and s.unit_no = a.unit_no and s.month = a.month and s.sequence > $2;
