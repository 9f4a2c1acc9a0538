select (12 * extract(year from b.phase) + extract(month from b.phase) - 1)::integer as phase,
    (12 * extract(year from b.month_from) + extract(month from b.month_from) - 1)::integer as month_from,
    (12 * extract(year from b.month_to) + extract(month from b.month_to) - 1)::integer as month_to,
    b.measure, b.chart, b.period, b.centre, b.spread, b.points, b.denominator, b.provisional, b.reason, b.definition,
    b.derivation, b.generation
from measure.baseline b
join registry.unit u on u.no = b.unit_no
where u.code = $1
order by b.measure, b.phase, b.generation, b.definition, b.derivation;
