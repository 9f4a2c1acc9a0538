package benchmark

import (
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"chestrise/etl/record"
	"chestrise/metrics/compare"
	"chestrise/metrics/measure"
	"chestrise/metrics/yamlfile"
)

// Reference is what a unit may compare itself with where it has no other units'
// records: sums of others by gestation band, dated, versioned, with their source. A
// coordinating centre returns one; a published table can be written down as one.
type Reference struct {
	Source   string
	Version  string
	Dated    string // YYYY-MM-DD
	From, To record.Month
	LeftOut  string // code of the unit that is not in the sums; empty: nobody was left out
	Measures []ReferenceMeasure
}

// ReferenceMeasure is one measure of it.
type ReferenceMeasure struct {
	Measure    string
	Definition string // hash of the definition the sums were counted by; empty: said in words of the source
	Units      int
	Bands      []BandRate
}

// leastOthers is how many units with figures a sum of others needs: with two, each of
// them could work out the other.
const leastOthers = 3

// ReferenceFor are the sums of all units but one, by band, for that unit. A measure
// with fewer than three others is left out.
func ReferenceFor(d *Data, s Settings, unit, version, dated string) (Reference, error) {
	own, ok := s.Coded(unit)
	if !ok {
		return Reference{}, fmt.Errorf("unit %q is not in the network file", unit) //nolint:exhaustruct // beside an error
	}
	r := Reference{
		Source: s.Network + ", the other units together", Version: version, Dated: dated, From: d.From, To: d.To, LeftOut: own.Code, Measures: nil,
	}
	for _, w := range s.Measures {
		def, err := d.Catalogue.Named(w.Measure)
		if err != nil {
			return r, err
		}
		m := ReferenceMeasure{Measure: def.ID, Definition: def.Hash, Units: 0, Bands: nil}
		var by [numBands]BandRate
		for _, u := range s.Units {
			if u.Unit == unit || d.Standing[u.Unit].Absent(def) != "" {
				continue
			}
			n := d.Count(def, u.Unit)
			if n.All.Known() > 0 {
				m.Units++
			}
			for b := range by {
				by[b].Met += n.ByBand[b].Met
				by[b].Known += n.ByBand[b].Known()
			}
		}
		if m.Units < leastOthers {
			continue
		}
		for b := 1; b < numBands; b++ {
			if by[b].Known > 0 {
				m.Bands = append(m.Bands, BandRate{Band: Bands[b-1], Met: by[b].Met, Known: by[b].Known})
			}
		}
		r.Measures = append(r.Measures, m)
	}
	return r, nil
}

// of finds a measure; why says why it cannot serve.
func (r *Reference) of(d measure.Definition) (m ReferenceMeasure, why string) {
	i := slices.IndexFunc(r.Measures, func(m ReferenceMeasure) bool { return m.Measure == d.ID })
	if i < 0 {
		return m, "The reference has no figures for this measure."
	}
	m = r.Measures[i]
	if m.Definition != "" && m.Definition != d.Hash {
		return m, "The reference was counted by another definition of this measure: it is not compared."
	}
	return m, ""
}

func (m ReferenceMeasure) sum() (met, known int) {
	for _, b := range m.Bands {
		met += b.Met
		known += b.Known
	}
	return met, known
}

func (m ReferenceMeasure) cells() []compare.Cell {
	out := make([]compare.Cell, len(Bands))
	for _, b := range m.Bands {
		if i := slices.Index(Bands, b.Band); i >= 0 && standardised(i+1) {
			out[i] = compare.Cell{Events: b.Met, Cases: b.Known}
		}
	}
	return out
}

// YAML writes the reference in the form that ReadReference reads.
func (r Reference) YAML() []byte {
	var b strings.Builder
	b.WriteString("# Sums of newborns by gestation band, to compare one unit with. Every count is of\n" +
		"# newborns with an answer (known) and of those who met the measure (met).\n")
	fmt.Fprintf(&b, "reference: %q\nversion: %q\ndated: %q\nfrom: %s\nto: %s\n", r.Source, r.Version, r.Dated, r.From, r.To)
	if r.LeftOut != "" {
		fmt.Fprintf(&b, "left_out: %q\n", r.LeftOut)
	}
	b.WriteString("measures:\n")
	for _, m := range r.Measures {
		fmt.Fprintf(&b, "  - measure: %s\n", m.Measure)
		if m.Definition != "" {
			fmt.Fprintf(&b, "    definition: %q\n", m.Definition)
		}
		fmt.Fprintf(&b, "    units: %d\n    bands:\n", m.Units)
		for _, x := range m.Bands {
			fmt.Fprintf(&b, "      - {band: %q, met: %d, known: %d}\n", x.Band, x.Met, x.Known)
		}
	}
	return []byte(b.String())
}

// ReadReference reads a returned file. All problems are reported at once.
func ReadReference(path string, src []byte) (Reference, error) {
	r := Reference{Source: "", Version: "", Dated: "", From: 0, To: 0, LeftOut: "", Measures: nil}
	f := &yamlfile.File{Path: path, Lines: nil, Problems: nil}
	root := f.Root(src)
	if root == nil {
		return r, f.Problems.Err()
	}
	month := func(to *record.Month, what string) func(ast.Node) {
		return func(n ast.Node) {
			text, ok := f.Scalar(n, what)
			if !ok {
				return
			}
			m, err := record.ParseMonth(text)
			if err != nil {
				f.Report(n.GetToken(), "write it as 2026-03", "%s is no month: %q", what, text)
				return
			}
			*to = m
		}
	}
	f.Keys(root, "the reference", []string{"reference", "version", "dated", "from", "to", "measures"}, map[string]func(ast.Node){
		"reference": f.Sentence(&r.Source, "reference"),
		"version":   f.Sentence(&r.Version, "version"),
		"dated":     f.Sentence(&r.Dated, "dated"),
		"from":      month(&r.From, "from"),
		"to":        month(&r.To, "to"),
		"left_out":  f.Sentence(&r.LeftOut, "left_out"),
		"measures":  func(n ast.Node) { f.Items(n, "measures", func(v ast.Node) { r.read(f, v) }) },
	})
	return r, f.Problems.Err()
}

func (r *Reference) read(f *yamlfile.File, n ast.Node) {
	m := ReferenceMeasure{Measure: "", Definition: "", Units: 0, Bands: nil}
	f.Keys(n, "measure", []string{"measure", "units", "bands"}, map[string]func(ast.Node){
		"measure":    f.Sentence(&m.Measure, "measure"),
		"definition": f.Sentence(&m.Definition, "definition"),
		"units":      f.Integer(&m.Units, "units", 1, 1_000_000),
		"bands": func(n ast.Node) {
			f.Items(n, "bands", func(v ast.Node) {
				x := BandRate{Band: "", Met: 0, Known: 0}
				f.Keys(v, "band", []string{"band", "met", "known"}, map[string]func(ast.Node){
					"band":  yamlfile.OneOf(f, &x.Band, "band", Bands...),
					"met":   f.Integer(&x.Met, "met", 0, 1_000_000_000),
					"known": f.Integer(&x.Known, "known", 0, 1_000_000_000),
				})
				if x.Met > x.Known {
					f.Report(yamlfile.Start(v), "", "band %s: %d met of %d known is impossible", x.Band, x.Met, x.Known)
				}
				m.Bands = append(m.Bands, x)
			})
		},
	})
	if slices.ContainsFunc(r.Measures, func(o ReferenceMeasure) bool { return o.Measure == m.Measure }) {
		f.Report(yamlfile.Start(n), "", "measure %q appears twice", m.Measure)
	}
	r.Measures = append(r.Measures, m)
}
