insert into ledger.file (delivery_no, name, sha256, read, loaded, revised, unchanged, withdrawn, superseded, duplicate, held, held_with)
values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12);
