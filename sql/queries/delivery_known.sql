select manifest = $1 as same from ledger.delivery
where outcome = 'loaded' and (manifest = $1 or sequence = $3 and source_no = (select no from registry.source where code = $2))
order by 1 desc limit 1;
