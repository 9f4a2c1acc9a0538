delete from arrival_births a
where (select array_agg(row (b.gestation_wk, b.births) order by b.gestation_wk) from ledger.births b
        where b.source_no = $1 and b.unit_no = a.unit_no and b.month = a.month and b.gen_to is null)
    = (select array_agg(row (c.gestation_wk, c.births) order by c.gestation_wk) from arrival_births c
        where c.unit_no = a.unit_no and c.month = a.month);
