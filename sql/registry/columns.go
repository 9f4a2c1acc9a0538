package registry

import (
	"strings"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// The columns of a document and of facts, in the order in which rows are
// encoded. The validity is not among them: it is known only when a delivery
// commits.
var (
	documentColumns = columns([]string{"source_no", "key", "sequence", "digest", "withdrawn", "unit_no", "month"},
		record.Fields[:], []string{
			"set_aside", "damaged", "event_at", "event_unit", "event_how", "event_clock",
			"event_kind", "event_code", "event_value", "event_group",
		})
	factColumns = columns([]string{"source_no", "key", "derivation", "unit_no", "month"}, record.FactSpecs[:], nil)

	copyDocuments = fill(queries.Template("copy_documents"), documentColumns)
	copyFacts     = fill(queries.Template("copy_facts"), factColumns)
	openDocuments = fill(queries.Template("document_open"), documentColumns)
	openFacts     = fill(queries.Template("facts_open"), factColumns)
)

func columns(before []string, specs []record.Spec, after []string) string {
	all := before
	for _, s := range specs {
		all = append(all, s.Name)
	}
	return strings.Join(append(all, after...), ", ")
}
