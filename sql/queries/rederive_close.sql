update registry.facts f set gen_to = $1 from arrival_facts a
where f.source_no = a.source_no and f.key = a.key and f.gen_to is null;
