package synth

import (
	"strconv"
	"strings"

	"chestrise/etl/record"
)

func newbornRow(d *record.Document) []string {
	row := make([]string, 0, 4+int(record.NumFields))
	status := "present"
	if d.Withdrawn {
		status = "withdrawn"
	}
	row = append(row, d.Unit, d.Key.String(), status, d.Month.String())
	for f := range record.NumFields {
		if d.Withdrawn {
			row = append(row, "")
			continue
		}
		row = append(row, text(record.Fields[f], d.Newborn[f]))
	}
	return row
}

func text(spec record.Spec, v record.Value) string {
	if v.State != record.Recorded {
		return ""
	}
	switch spec.Type {
	case record.CodeType:
		return spec.Codes[v.Code-1]
	case record.SetType:
		var words []string
		for i, c := range spec.Codes {
			if v.Set&(1<<i) != 0 {
				words = append(words, c)
			}
		}
		return strings.Join(words, "+")
	case record.YesNoType:
		return record.YesNo[v.Code-1]
	case record.MarkType:
		return "yes"
	case record.UUIDType:
		return v.ID.String()
	default:
		return plain(v.Number)
	}
}

func eventRow(d *record.Document, e record.Event) []string {
	row := []string{d.Unit, d.Key.String(), "", e.Clock.String(), e.How.String(), "", e.Kind.String(), "", "", ""}
	if e.Timed {
		row[2] = strconv.Itoa(int(e.At))
	}
	if e.Unit > 0 {
		row[5] = strconv.Itoa(int(e.Unit))
	}
	if e.Code > 0 {
		row[7] = record.Events[e.Kind].Codes[e.Code-1]
	}
	if e.Valued {
		row[8] = plain(e.Value)
	}
	if e.Grouped {
		row[9] = strconv.Itoa(int(e.Group))
	}
	return row
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
