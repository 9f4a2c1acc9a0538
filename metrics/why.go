package metrics

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// Why is how one measure came to its answer for one newborn.
type Why struct {
	Key     record.Key
	Unit    string
	Month   record.Month
	Measure string
	Title   string
	Answer  string // in words: "exception 1 (a decision was awaited)", "57 (heart-rate-100)"
	Because string // the condition that decided, in one sentence
	Steps   []WhyStep
}

// WhyStep is one condition and what it said.
type WhyStep struct {
	Part    string
	Words   string   // what the definition says of it
	Text    string   // the condition
	Answer  string   // "true", "false", "not recorded", or a value
	Facts   []string // "need yes", "first_inflation_hi not recorded"
	Decided bool
}

// Why evaluates the conditions of one measure (id), or of all ("" id), for one
// newborn. record.ErrNoSuchKey where there is none.
func (e *Engine) Why(ctx context.Context, key record.Key, id string) ([]Why, error) {
	cat := e.Catalogue
	if id != "" {
		d, err := cat.Named(id)
		if err != nil {
			return nil, err
		}
		cat = d.Only()
	}
	row, judged, err := e.Facts.Judge(ctx, cat.Projection(e.Settings.Editions), key)
	if err != nil {
		return nil, fmt.Errorf("judging %s: %w", key, err)
	}
	var out []Why
	for i, d := range cat.Measures {
		out = append(out, explain(d, key, row, i, judged[i]))
	}
	return out, nil
}

func explain(d measure.Definition, key record.Key, row cell.Row, i int, judged []cell.Judgement) Why {
	w := Why{Key: key, Unit: row.Unit, Month: row.Month, Measure: d.ID, Title: d.Title, Answer: d.CodeWords(row.Codes[i]), Because: "", Steps: nil}
	code := row.Codes[i]
	if code == cell.Valued {
		w.Answer = measure.Number(row.Low[i])
		if row.High[i] != row.Low[i] {
			w.Answer += " to " + measure.Number(row.High[i])
		}
		w.Answer += " " + d.UnitWords
		if end := row.End[i]; end != "" {
			w.Answer += ", " + endWords(d, end)
		}
	}
	if i < len(row.Presumed) && row.Presumed[i] {
		w.Answer += ", presumed"
	}
	deciding := deciders(code)
	for _, j := range judged {
		words, condition := d.Part(j.Part)
		s := WhyStep{Part: j.Part, Words: words, Text: j.Text, Answer: j.Answer, Facts: nil, Decided: slices.Contains(deciding, j.Part)}
		for _, f := range condition.Facts {
			s.Facts = append(s.Facts, f+" "+cmp.Or(j.Facts[f], "not recorded"))
		}
		if s.Decided {
			w.Because = strings.TrimSpace(w.Because + fmt.Sprintf(" %s is %s.", capital(j.Part), j.Answer))
		}
		w.Steps = append(w.Steps, s)
	}
	return w
}

// deciders are the parts of a measure that an answer rests on.
func deciders(c cell.Code) []string {
	switch c {
	case cell.Outside, cell.EligibilityUnknown:
		return []string{"population"}
	case cell.Met:
		return []string{"met"}
	case cell.NotMet:
		return []string{"missed"}
	case cell.Valued:
		return []string{"low", "high", "end"}
	case cell.Unknown:
		return []string{"met", "missed", "low", "high", "end"}
	case cell.Undecided:
		return []string{"met", "missed", "open"}
	default:
	}
	switch {
	case c >= cell.FirstExclusion && c < cell.FirstExclusion+cell.MaxReasons:
		return []string{fmt.Sprintf("exclusion %d", c-cell.FirstExclusion+1)}
	case c >= cell.FirstException && c < cell.FirstException+cell.MaxReasons:
		return []string{"missed", fmt.Sprintf("exception %d", c-cell.FirstException+1)}
	}
	return nil
}

// String prints the answer, what decided, and every condition with its facts; an
// arrow marks the deciding one.
func (w Why) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s (%s)\n%s %s, %s: %s\n", w.Title, w.Measure, w.Unit, w.Month, w.Key, w.Answer)
	if w.Because != "" {
		fmt.Fprintf(&b, "%s\n", w.Because)
	}
	for _, s := range w.Steps {
		mark := "  "
		if s.Decided {
			mark = "> "
		}
		fmt.Fprintf(&b, "%s%s: %s\n", mark, s.Part, s.Answer)
		if s.Words != "" {
			fmt.Fprintf(&b, "    %s\n", s.Words)
		}
		fmt.Fprintf(&b, "    | %s\n", strings.ReplaceAll(s.Text, "\n", "\n    | "))
		if len(s.Facts) > 0 {
			fmt.Fprintf(&b, "    %s\n", strings.Join(s.Facts, ", "))
		}
	}
	return b.String()
}
