-- A newborn that moves to another month changes both.
update registry.unit_month o set changed = $1
from (select unit_no, month from arrival union select unit_no, month from registry.document where gen_to = $1) c
where o.unit_no = c.unit_no and o.month = c.month;
