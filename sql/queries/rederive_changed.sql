update registry.unit_month o set changed = $1
from (select distinct unit_no, month from arrival_facts) c
where o.unit_no = c.unit_no and o.month = c.month;
