copy ledger.set_aside (delivery_no, file, line, column_no, rule, field, key) from stdin
