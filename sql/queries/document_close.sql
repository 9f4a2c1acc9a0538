update registry.document d set gen_to = $1 from arrival a
where d.source_no = a.source_no and d.key = a.key and d.gen_to is null;
