select d.key::text, u.code, (12 * extract(year from d.month) + extract(month from d.month) - 1)::integer, d.withdrawn,
    d.set_aside, d.damaged, d.event_at, d.event_unit, d.event_how, d.event_clock, d.event_kind, d.event_code,
    d.event_value, d.event_group, d.source_no
{{- range .Fields}},
    d.{{.}}::text
{{- end}}
from registry.document d
join registry.unit u on u.no = d.unit_no
{{- if .Behind}}
join registry.facts f on f.source_no = d.source_no and f.key = d.key and f.gen_to is null
where d.gen_to is null and not d.withdrawn and f.derivation <> $1;
{{- else}}
where d.gen_from <= $1 and (d.gen_to is null or d.gen_to > $1) and not d.withdrawn
    and (d.unit_no, d.month) in (select * from unnest($2::smallint[], $3::date[]))
    and ($4::uuid[] is null or d.key = any ($4))
order by u.code, d.month, d.birth_sequence nulls last, d.key;
{{- end}}
