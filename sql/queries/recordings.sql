select r.delivery_no, u.code as unit, (12 * extract(year from r.month_from) + extract(month from r.month_from) - 1)::integer as month_from,
    r.how, r.time_unit_s, r.form, r.temp_site
from ledger.recording r
join registry.unit u on u.no = r.unit_no
order by r.delivery_no, u.code, r.month_from;
