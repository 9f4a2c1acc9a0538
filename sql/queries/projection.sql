{{- /*
One newborn a row, seen by all measures at once. The codes of all measures come
as one text, after the gestation band and before the marks of what is presumed:
dozens of columns would cost half as much again on the way to the program.
A simple case evaluates its condition once; true, false and null part here.
*/ -}}
with um as materialized (
    select * from unnest($1::integer[]{{if not .Rows}}, $2::smallint[], $3::date[]{{end}}{{range .Parameters}}, {{.Arg}}::numeric[]{{end}})
        as um (um_no{{if not .Rows}}, um_unit, um_month{{end}}{{range .Parameters}}, {{.Name}}{{end}})
)
select um.um_no, f.key, coalesce(f.birth_sequence, 0)::integer,
    case f.gestation_band {{range .Bands}}when '{{.Word}}' then '{{.Code}}' {{end}}else '0' end
{{- range .Measures}}
    || {{template "code" .}}
{{- end}}
{{- range .Measures}}{{if .Presumed}}
    || case when ({{.Presumed}}) is true then '1' else '0' end
{{- end}}{{end}}
{{- range .Measures}}{{if .Low}},
    ({{.Low}})::double precision, ({{.High}})::double precision
    {{- if .End}}, ({{.End}})::text{{end}}
{{- end}}{{end}}
{{- range .Strata}},
    f.{{.}}::text
{{- end}}
from um
{{if .Rows -}}
join jsonb_populate_recordset(null::registry.measurable, $2::jsonb) with ordinality f on f.ordinality = um.um_no
{{- else -}}
join registry.measurable f on f.unit_no = um.um_unit and f.month = um.um_month
where f.gen_from <= $4 and (f.gen_to is null or f.gen_to > $4)
    and ($5::uuid is null or f.key = $5 and f.source_no = $6::smallint)
{{- end}}
order by um.um_no, f.birth_sequence nulls last, f.key;

{{- define "code"}}case ({{.Population}}) when true then case
        {{- range .Exclusions}}
        when ({{.Text}}) is true then '{{.Code}}'
        {{- end}}
        {{- if .Low}}
        {{- range .Exceptions}}
        when ({{.Text}}) is true then '{{.Code}}'
        {{- end}}
        {{- if .Open}}
        when ({{.Open}}) is true then '~'
        {{- end}}
        when ({{.Low}}) is null or ({{.High}}) is null then 'u'
        else 'v' end
        {{- else}}
        when ({{.Met}}) is true then '1'
        when ({{.Missed}}) is true then {{if .Exceptions}}case
            {{- range .Exceptions}}
            when ({{.Text}}) is true then '{{.Code}}'
            {{- end}}
            else '0' end{{else}}'0'{{end}}
        when ({{.Met}}) is null or ({{.Missed}}) is null then 'u'
        else '~' end
        {{- end}}
        when false then '.' else '?' end
{{- end}}
