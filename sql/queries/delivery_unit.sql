insert into ledger.delivery_unit (delivery_no, unit_no) values ($1, $2) on conflict do nothing;
