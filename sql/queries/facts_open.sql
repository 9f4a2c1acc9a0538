-- Sorted, so that a month of a unit lies together on disk.
insert into registry.facts (gen_from, {{.}}) select $1, {{.}} from arrival_facts order by unit_no, month, birth_sequence, key;
