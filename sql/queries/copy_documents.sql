copy arrival ({{.}}) from stdin
