insert into registry.unit (no, code) select coalesce(max(no), 0) + 1, $1 from registry.unit returning no;
