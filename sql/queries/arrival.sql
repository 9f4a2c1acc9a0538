-- Temporary, so that a crash leaves nothing behind and loading needs no right to create tables.
create temporary table arrival (like registry.document including defaults) on commit drop;
alter table arrival drop column gen_from, drop column gen_to;
create temporary table arrival_facts (like registry.facts) on commit drop;
alter table arrival_facts drop column gen_from, drop column gen_to;
