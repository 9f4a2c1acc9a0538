insert into registry.source (no, code) select coalesce(max(no), 0) + 1, $1 from registry.source returning no;
