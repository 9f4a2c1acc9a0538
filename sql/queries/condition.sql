explain select ({{.Text}}){{.Cast}}
from registry.measurable f
cross join (select 0 as um_no{{range .Parameters}}, null::numeric as {{.Name}}{{end}}) um;
