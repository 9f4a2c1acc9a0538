insert into registry.document (gen_from, {{.}}) select $1, {{.}} from arrival;
