copy probe (word) from stdin
