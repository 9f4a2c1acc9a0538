select u.code, (12 * extract(year from c.month) + extract(month from c.month) - 1)::integer, c.measure, c.band,
    c.outside, c.eligibility_unknown, c.excluded, c.exceptions, c.unknown, c.undecided, c.not_met, c.met, c.presumed,
    c.item_order, c.item_low, c.item_high, c.item_end, c.births, c.definition, c.derivation, c.generation
from measure.cell c
join registry.unit u on u.no = c.unit_no
where c.measure = $1 and ($2::text[] is null or u.code = any ($2))
order by u.code, c.month, c.band;
