insert into ledger.recording (delivery_no, unit_no, month_from, how, time_unit_s, form, temp_site)
values ($1, $2, $3, $4, $5, $6, $7);
