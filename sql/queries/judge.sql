{{- /* Every condition and every fact it reads, as text, for one newborn. */ -}}
select {{range $i, $c := .Conditions}}{{if $i}},
    {{end}}({{$c}})::text{{end}}
{{- range .Facts}},
    f.{{.}}::text
{{- end}}
from registry.measurable f
cross join (select 0 as um_no{{range .Parameters}}, {{.Arg}}::numeric as {{.Name}}{{end}}) um
where f.source_no = $1 and f.key = $2 and f.gen_from <= $3 and (f.gen_to is null or f.gen_to > $3);
