package etl

import (
	"encoding/json"
	"io"
	"strings"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// The descriptor follows Frictionless Data Package and Table Schema
// (datapackage.org, version 2). What the standard has no word for stands under
// names of our own: unit (UCUM), section, only, kinds, sections, rules, manifest.
type contractText struct {
	Schema      string         `json:"$schema"`
	Name        string         `json:"name"`
	Title       string         `json:"title"`
	Description string         `json:"description"`
	Manifest    []manifestKey  `json:"manifest"`
	Resources   []resourceText `json:"resources"`
	Kinds       []kindText     `json:"kinds"`
	Sections    []sectionText  `json:"sections"`
	Rules       []ruleText     `json:"rules"`
}

type manifestKey struct {
	Name        string   `json:"name"`
	Type        string   `json:"type"`
	Required    bool     `json:"required"`
	Enum        []string `json:"enum,omitempty"`
	Description string   `json:"description"`
}

type resourceText struct {
	Name        string      `json:"name"`
	Type        string      `json:"type"`
	Path        string      `json:"path"`
	Description string      `json:"description"`
	Required    bool        `json:"required"`
	Encoding    string      `json:"encoding"`
	Dialect     dialectText `json:"dialect"`
	Schema      schemaText  `json:"schema"`
}

type dialectText struct {
	Delimiter   string `json:"delimiter"`
	QuoteChar   string `json:"quoteChar"`
	DoubleQuote bool   `json:"doubleQuote"`
	Header      bool   `json:"header"`
}

type schemaText struct {
	FieldsMatch   string           `json:"fieldsMatch"`
	MissingValues []string         `json:"missingValues"`
	PrimaryKey    []string         `json:"primaryKey,omitempty"`
	ForeignKeys   []foreignKeyText `json:"foreignKeys,omitempty"`
	Fields        []fieldText      `json:"fields"`
}

type foreignKeyText struct {
	Fields    []string `json:"fields"`
	Reference struct {
		Resource string   `json:"resource"`
		Fields   []string `json:"fields"`
	} `json:"reference"`
}

type fieldText struct {
	Name        string          `json:"name"`
	Type        string          `json:"type"`
	Format      string          `json:"format,omitempty"`
	Unit        string          `json:"unit,omitempty"`
	Section     string          `json:"section,omitempty"`
	Only        string          `json:"only,omitempty"`
	Description string          `json:"description"`
	Constraints *constraintText `json:"constraints,omitempty"`
}

type constraintText struct {
	Required bool     `json:"required,omitempty"`
	Enum     any      `json:"enum,omitempty"` // texts or numbers
	Minimum  *float64 `json:"minimum,omitempty"`
	Maximum  *float64 `json:"maximum,omitempty"`
	Pattern  string   `json:"pattern,omitempty"`
}

type kindText struct {
	Name         string   `json:"name"`
	Description  string   `json:"description"`
	Section      string   `json:"section"`
	Attribute    bool     `json:"attribute,omitempty"`
	Codes        []string `json:"codes,omitempty"`
	CodeRequired bool     `json:"code_required,omitempty"`
	Value        *struct {
		Unit    string  `json:"unit"`
		Whole   bool    `json:"whole,omitempty"`
		Minimum float64 `json:"minimum"`
		Maximum float64 `json:"maximum"`
	} `json:"value,omitempty"`
}

type sectionText struct {
	Name        string `json:"name"`
	Mark        string `json:"mark"`
	Description string `json:"description"`
}

type ruleText struct {
	ID          string `json:"id"`
	Scope       string `json:"scope"`
	Applied     bool   `json:"applied"`
	Description string `json:"description"`
}

// WriteContract prints what a delivery may hold as one JSON document: a
// Frictionless Data Package descriptor with the Table Schema of each file, the
// keys of the manifest, the kinds of events, the sections, and the rules. All of
// it comes from the dictionary by which deliveries are read.
func WriteContract(w io.Writer) error {
	c := contractText{
		Schema: "https://datapackage.org/profiles/2.0/datapackage.json",
		Name:   "delivery-room-records",
		Title:  "Delivery of de-identified delivery-room resuscitation records",
		Description: "A delivery is a folder with manifest.json and the files it announces. A blank cell is not recorded, never zero; " +
			"it means \"not done\" only in a section that the row marks as charted. No dates, no times of day, no free text, no identifiers. " +
			"Cells hold no line breaks. UTF-8; a byte order mark and CRLF line ends are accepted. Columns may stand in any order, but all must be there. " +
			"In privacy mode year-only the column month is called year and holds YYYY, and birth_sequence, shift and birth_set stay blank.",
		Manifest:  manifestKeys(),
		Resources: []resourceText{newbornsText(), eventsText(), birthsText()},
	}
	for _, k := range record.Kinds() {
		c.Kinds = append(c.Kinds, kindOf(&record.Events[k]))
	}
	for s := record.Assessments; record.AllSections.Has(s); s++ {
		c.Sections = append(c.Sections, sectionText{
			Name: s.String(), Mark: "charted_" + strings.ReplaceAll(s.String(), "-", "_"),
			Description: "Only where the mark is yes does a blank in this section mean \"not done\". A held event row or a value set aside undoes the mark.",
		})
	}
	for _, r := range rule.All {
		c.Rules = append(c.Rules, ruleText{r.ID, r.Scope.String(), r.Applied(), r.Words})
	}
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	return out.Encode(c)
}

func manifestKeys() []manifestKey {
	return []manifestKey{
		{"source", "string", true, nil, "Code of the source: letters, digits, dots, hyphens, underscores. One source owns a unit's month."},
		{"unit", "array", true, nil, "Codes of the units whose newborns the delivery may hold."},
		{"period", "object", true, nil, "first and last: the months covered, YYYY-MM, both included; in privacy mode year-only the years, YYYY."},
		{"coverage", "string", true, record.Coverages, "Which births the source sends."},
		{"mode", "string", true, record.Modes, "changes: what is new or changed. complete: everything. A newborn that is absent is never taken as withdrawn."},
		{"sequence", "integer", true, nil, "The source's own counter, 1 or more. It grows with every delivery; the highest sequence of a key is current."},
		{"extracted_at", "datetime", true, nil, "When the source took the records, RFC 3339 with offset."},
		{"privacy_mode", "string", true, record.Privacies, "inside: inside the covered hospital. limited: under an agreement. year-only: no months, no order of births."},
		{"agreement", "string", false, nil, "Id of the agreement; required in privacy mode limited."},
		{"synthetic", "boolean", false, nil, "true: invented records; printed on every page."},
		{"files", "array", true, nil, "name, rows (without header and blank lines) and sha256 of every file."},
		{"recording", "array", false, nil, "Declared changes of recording: unit, from (month), how, time_unit_s, form, temperature_site. A declared change breaks the chart."},
	}
}

func tabular(name, path, description string, required bool, schema schemaText) resourceText {
	schema.FieldsMatch = "equal"
	schema.MissingValues = []string{""}
	return resourceText{
		Name: name, Type: "table", Path: path, Description: description, Required: required, Encoding: "utf-8",
		Dialect: dialectText{Delimiter: ",", QuoteChar: `"`, DoubleQuote: true, Header: true}, Schema: schema,
	}
}

var required = &constraintText{Required: true}

func identity() []fieldText {
	return []fieldText{
		{Name: "unit", Type: "string", Description: "Code of the unit, one of the manifest's.", Constraints: required},
		{Name: "key", Type: "string", Format: "uuid", Description: "Random key of the newborn, UUID version 4, made by the source and never derived from the newborn's data.", Constraints: required},
	}
}

func newbornsText() resourceText {
	fields := append(identity(),
		fieldText{Name: "record_status", Type: "string", Description: "withdrawn: the newborn leaves the measures; its other cells and its events are not read.", Constraints: &constraintText{Required: true, Enum: []string{source.Present, source.Withdrawn}}},
		fieldText{Name: "month", Type: "yearmonth", Description: "Month of birth.", Constraints: required},
	)
	for i := range record.Fields {
		fields = append(fields, fieldOf(&record.Fields[i]))
	}
	return tabular("newborns", source.NewbornsName, "One row a newborn, sorted by unit and key.", true, schemaText{PrimaryKey: []string{"key"}, Fields: fields})
}

func eventsText() resourceText {
	var kinds []string
	for _, k := range record.Kinds() {
		kinds = append(kinds, k.String())
	}
	units := make([]float64, len(record.TimeUnits))
	for i, u := range record.TimeUnits {
		units[i] = float64(u)
	}
	fields := append(identity(),
		fieldText{Name: "at_s", Type: "integer", Unit: "s", Description: "Seconds on the event's clock. Blank: done, time not recorded. Negative only where begun_before_birth is yes.", Constraints: between(earliestEvent, latestEvent)},
		fieldText{Name: "clock", Type: "string", Description: "Whose zero the seconds count from: birth and sheet, complete birth; warmer, arrival at the warmer or cutting of the cord. Blank: unknown. Nothing is inferred across clocks.", Constraints: &constraintText{Enum: record.Clocks[:]}},
		fieldText{Name: "how", Type: "string", Description: "How the time was taken.", Constraints: &constraintText{Enum: record.Hows[1:]}},
		fieldText{Name: "time_unit_s", Type: "integer", Unit: "s", Description: "To what unit the time was taken; 60: the difference of two whole-minute clock readings.", Constraints: &constraintText{Enum: units}},
		fieldText{Name: "kind", Type: "string", Description: "Kind of the event; see kinds.", Constraints: &constraintText{Required: true, Enum: kinds}},
		fieldText{Name: "code", Type: "string", Description: "One of the codes of the kind; see kinds."},
		fieldText{Name: "value", Type: "number", Description: "In the unit of the kind; see kinds."},
		fieldText{Name: "group", Type: "integer", Description: "Number within the newborn that ties the rows of one airway attempt, support episode or dose. One attribute a row, at the time of the event it describes.", Constraints: between(0, 9999)},
	)
	schema := schemaText{Fields: fields}
	key := foreignKeyText{Fields: []string{"unit", "key"}}
	key.Reference.Resource, key.Reference.Fields = "newborns", key.Fields
	schema.ForeignKeys = []foreignKeyText{key}
	return tabular("events", source.EventsName, "One row an event, sorted by unit and key, within a newborn by at_s with blanks last. A delivery holds a newborn with all its events.", true, schema)
}

func birthsText() resourceText {
	weeks := fieldOf(&record.Fields[record.GestationWk])
	weeks.Description = "Completed weeks of gestation; blank: not known."
	fields := []fieldText{
		identity()[0],
		{Name: "month", Type: "yearmonth", Description: "Month of birth.", Constraints: required},
		weeks,
		{Name: "births", Type: "integer", Description: "All births of the unit in that month and week.", Constraints: &constraintText{Required: true, Minimum: new(float64)}},
	}
	return tabular("births", source.BirthsName, "All births by unit, month and week: needed for births between events and for shares of all births where coverage is not every-birth.", false,
		schemaText{Fields: fields})
}

func fieldOf(s *record.Spec) fieldText {
	f := fieldText{Name: s.Name, Unit: s.Unit, Section: s.Section.String(), Only: s.Only, Description: s.Meaning, Type: "string"}
	switch s.Type {
	case record.CodeType:
		f.Constraints = &constraintText{Enum: s.Codes}
	case record.YesNoType:
		f.Constraints = &constraintText{Enum: record.YesNo}
	case record.MarkType:
		f.Constraints = &constraintText{Enum: record.YesNo[:1]}
	case record.SetType:
		one := "(" + strings.Join(s.Codes, "|") + ")"
		f.Constraints = &constraintText{Pattern: "^" + one + `(\+` + one + ")*$"}
	case record.UUIDType:
		f.Format = "uuid"
	case record.IntegerType:
		f.Type, f.Constraints = "integer", between(s.Min, s.Max)
	case record.DecimalType:
		f.Type, f.Constraints = "number", between(s.Min, s.Max)
	}
	if len(s.OneOf) > 0 {
		f.Constraints = &constraintText{Enum: s.OneOf}
	}
	return f
}

func between(least, most float64) *constraintText {
	return &constraintText{Minimum: &least, Maximum: &most}
}

func kindOf(s *record.EventSpec) kindText {
	k := kindText{
		Name: s.Name, Description: s.Meaning, Section: s.Section.String(), Attribute: s.Attribute,
		Codes: s.Codes, CodeRequired: len(s.Codes) > 0 && !s.Optional,
	}
	if s.Value {
		k.Value = &struct {
			Unit    string  `json:"unit"`
			Whole   bool    `json:"whole,omitempty"`
			Minimum float64 `json:"minimum"`
			Maximum float64 `json:"maximum"`
		}{s.Unit, s.Whole, s.Min, s.Max}
	}
	return k
}
