insert into ledger.generation (no, cause, delivery_no, extracted_at) values ($1, $2, $3, $4);
