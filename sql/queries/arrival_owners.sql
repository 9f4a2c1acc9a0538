insert into registry.unit_month (unit_no, month, source_no)
select distinct unit_no, month, source_no from arrival where not withdrawn
on conflict (unit_no, month) do nothing;
