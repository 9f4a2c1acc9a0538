copy ledger.held (delivery_no, file, line, column_no, rule, field, key, with_newborn) from stdin
