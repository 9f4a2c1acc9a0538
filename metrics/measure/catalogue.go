package measure

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"chestrise/metrics/cell"
	"chestrise/metrics/yamlfile"
)

// Catalogue is every measure that is loaded: core ones first, each tier by its
// order key, then by id.
type Catalogue struct{ Measures []Definition }

func newCatalogue(defs []Definition) Catalogue {
	slices.SortFunc(defs, func(a, b Definition) int {
		if a.Tier != b.Tier {
			return strings.Compare(string(a.Tier), string(b.Tier))
		}
		if a.Order != b.Order {
			return a.Order - b.Order
		}
		return strings.Compare(a.ID, b.ID)
	})
	return Catalogue{Measures: defs}
}

// Get finds a measure by id.
func (c Catalogue) Get(id string) (Definition, bool) {
	for _, d := range c.Measures {
		if d.ID == id {
			return d, true
		}
	}
	var none Definition
	return none, false
}

// Named finds a measure by id; the error suggests the nearest id.
func (c Catalogue) Named(id string) (Definition, error) {
	d, ok := c.Get(id)
	if ok {
		return d, nil
	}
	ids := make([]string, len(c.Measures))
	for i, m := range c.Measures {
		ids[i] = m.ID
	}
	hint := yamlfile.DidYouMean(id, ids)
	if hint == "" {
		hint = `"chestrise measures" lists them`
	}
	return d, fmt.Errorf("measure %q is not in the catalogue\nhint: %s", id, hint)
}

// Version names the state of all definitions: 12 hex digits.
func (c Catalogue) Version() string {
	h := sha256.New()
	for _, d := range c.Measures {
		fmt.Fprintln(h, d.ID, d.Hash)
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
}

// together checks what concerns more than one measure.
func together(defs []Definition) Problems {
	var out Problems
	byID := map[string]Definition{}
	params := map[string]Definition{}
	values := map[string]Parameter{}
	for _, d := range defs {
		if first, ok := byID[d.ID]; ok && d.ID != "" {
			out = append(out, Problem{File: d.File, Line: 0, Column: 0, Message: fmt.Sprintf("measure %q is defined in %s too", d.ID, first.File), Hint: ""})
		}
		byID[d.ID] = d
		for _, p := range d.Parameters {
			first, ok := params[p.Name]
			if ok && (values[p.Name].Value != p.Value || values[p.Name].Edition != p.Edition) {
				out = append(out, Problem{File: d.File, Line: 0, Column: 0, Message: fmt.Sprintf("parameter %q is %v here and %v in %s", p.Name, p.Value, values[p.Name].Value, first.File), Hint: "name the parameter for what it limits; one name has one value"})
			}
			params[p.Name], values[p.Name] = d, p
		}
	}
	for _, d := range defs {
		if of, ok := byID[d.Chart.Of]; d.Chart.Of != "" && (!ok || of.Data != Value) {
			out = append(out, Problem{File: d.File, Line: 0, Column: 0, Message: fmt.Sprintf("newborns_of %q is no value measure of the catalogue", d.Chart.Of), Hint: ""})
		}
		for _, b := range d.Beside {
			if _, ok := byID[b.Measure]; !ok {
				out = append(out, Problem{File: d.File, Line: 0, Column: 0, Message: fmt.Sprintf("measure %q, to be read beside this one, is not in the catalogue", b.Measure), Hint: ""})
			}
		}
	}
	return out
}

// Projected is the measure as the projection sees it.
func (d Definition) Projected() cell.Projected {
	conditions := func(rs []Reason) []cell.Condition {
		out := make([]cell.Condition, len(rs))
		for i, r := range rs {
			out[i] = r.Condition
		}
		return out
	}
	return cell.Projected{
		Measure: d.ID, Population: d.Population.Condition,
		Exclusions: conditions(d.Exclusions), Exceptions: conditions(d.Exceptions),
		Met: d.Met.Condition, Missed: d.Missed.Condition, Presumed: d.Presumed.Condition,
		Low: d.Low.Condition, High: d.High.Condition, End: d.End.Condition, Open: d.Open.Condition,
	}
}

// Projection runs the whole catalogue in one pass. Changes are what editions
// adopted by a unit set a parameter to, by the parameter's name.
func (c Catalogue) Projection(changes map[string][]cell.Change) cell.Projection {
	p := cell.Projection{Measures: nil, Parameters: nil, Strata: nil}
	seen := map[string]bool{}
	for _, d := range c.Measures {
		p.Measures = append(p.Measures, d.Projected())
		for _, q := range d.Parameters {
			if seen[q.Name] {
				continue
			}
			seen[q.Name] = true
			par := cell.Parameter{Name: q.Name, Default: q.Value, Changes: nil}
			if q.Edition {
				par.Changes = changes[q.Name]
			}
			p.Parameters = append(p.Parameters, par)
		}
	}
	return p
}

// Only is the catalogue with one measure.
func (d Definition) Only() Catalogue { return Catalogue{Measures: []Definition{d}} }

// Facts lists the columns that the measure reads, sorted.
func (d Definition) Facts() []string {
	var out []string
	for _, c := range d.conditions() {
		out = append(out, c.Facts...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// conditions are all present conditions of the measure, in a fixed order.
func (d Definition) conditions() []cell.Condition {
	p := d.Projected()
	all := append([]cell.Condition{p.Population}, p.Exclusions...)
	all = append(all, p.Exceptions...)
	all = append(all, p.Met, p.Missed, p.Presumed, p.Low, p.High, p.End, p.Open)
	return slices.DeleteFunc(all, func(c cell.Condition) bool { return c.Text == "" })
}

// hash covers everything that changes a cell: conditions, parameters, version.
// Words do not.
func (d Definition) hash() string {
	h := sha256.New()
	line := func(part, text string) { fmt.Fprintf(h, "%s\t%s\n", part, strings.Join(strings.Fields(text), " ")) }
	line("id", d.ID)
	line("version", strconv.Itoa(d.Version))
	line("data", string(d.Data))
	p := d.Projected()
	line("population", p.Population.Text)
	for _, c := range p.Exclusions {
		line("exclusion", c.Text)
	}
	for _, c := range p.Exceptions {
		line("exception", c.Text)
	}
	line("met", p.Met.Text)
	line("missed", p.Missed.Text)
	line("presumed", p.Presumed.Text)
	line("low", p.Low.Text)
	line("high", p.High.Text)
	line("end", p.End.Text)
	line("open", p.Open.Text)
	for _, q := range d.Parameters {
		line("parameter", q.Name+" "+strconv.FormatFloat(q.Value, 'g', -1, 64))
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Sign says whether an end is the value itself rather than what came instead. A
// measure without ends has only signs.
func (d Definition) Sign(end string) bool {
	return !d.End.Present() || slices.Contains(d.Signs, end)
}

// Part finds a condition by its name as in cell.Judgement ("population", "exclusion
// 2", "met"), with what the definition says of it. An unknown name gives neither.
func (d Definition) Part(name string) (words string, c cell.Condition) {
	var none cell.Condition
	numbered := func(rs []Reason, s string) (string, cell.Condition) {
		if i, err := strconv.Atoi(s); err == nil && i >= 1 && i <= len(rs) {
			return strings.TrimSpace(sentenceOf(rs[i-1].Reason) + " " + rs[i-1].Why), rs[i-1].Condition
		}
		return "", none
	}
	if n, ok := strings.CutPrefix(name, "exclusion "); ok {
		return numbered(d.Exclusions, n)
	}
	if n, ok := strings.CutPrefix(name, "exception "); ok {
		return numbered(d.Exceptions, n)
	}
	clause, ok := map[string]Clause{
		"population": d.Population, "met": d.Met, "missed": d.Missed, "presumed": d.Presumed,
		"low": d.Low, "high": d.High, "end": d.End, "open": d.Open,
	}[name]
	if !ok {
		return "", none
	}
	return clause.Words, clause.Condition
}
