copy arrival_facts ({{.}}) from stdin
