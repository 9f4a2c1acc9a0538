delete from measure.cell
where (unit_no, month) in (select * from unnest($1::smallint[], $2::date[]));
