package measure

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"chestrise/metrics/cell"
)

// Database evaluates conditions; the registry is one.
type Database interface {
	Check(ctx context.Context, p cell.Projection) ([]cell.Fault, error)
	Examples(ctx context.Context, p cell.Projection, rows []map[string]string) ([]cell.Row, error)
}

// Checked is the outcome of a check of the catalogue.
type Checked struct {
	Problems Problems // conditions the database refuses, and examples that come out otherwise
	Examples int      // worked examples that were run
	Blanks   []Blank
}

// Blank says what becomes of a measure's answer when one fact is blank: the
// worked examples that give the fact, with it taken away.
type Blank struct {
	Measure string
	Fact    string
	Becomes []Turn // each turn once
}

// Turn is an answer before and after a fact is taken away.
type Turn struct {
	From, To string
	// Trap: a definite answer became another definite answer, or an unknown one
	// became definite. A blank should make less known, not something else.
	Trap bool
}

// Check runs every condition past the database, then every worked example
// through the production statement, then each example again with each fact it
// gives left blank. An error means that the database could not be asked.
func (c Catalogue) Check(ctx context.Context, db Database) (Checked, error) {
	out := Checked{Problems: nil, Examples: 0, Blanks: nil}
	faults, err := db.Check(ctx, c.Projection(nil))
	if err != nil {
		return out, fmt.Errorf("conditions of the catalogue: %w", err)
	}
	faulty := map[string]bool{}
	for _, f := range faults {
		faulty[f.Measure] = true
		line, column := Place(f.Where, max(1, f.Rune))
		out.Problems = append(out.Problems, Problem{File: f.Where.File, Line: line, Column: column, Message: fmt.Sprintf("%s: %s", f.Part, f.Message), Hint: ""})
	}
	for _, d := range c.Measures {
		if faulty[d.ID] {
			continue
		}
		if err := d.check(ctx, db, &out); err != nil {
			return out, fmt.Errorf("worked examples of %s: %w", d.ID, err)
		}
	}
	_ = out.Problems.Err() // sorts
	return out, nil
}

func (d Definition) check(ctx context.Context, db Database, out *Checked) error {
	var rows []map[string]string
	for _, e := range d.Examples {
		rows = append(rows, e.Facts)
	}
	// Behind the examples as written, each of them with one fact taken away.
	type variant struct {
		example int
		fact    string
	}
	var variants []variant
	for _, fact := range d.Facts() {
		for i, e := range d.Examples {
			if _, given := e.Facts[fact]; given {
				variants = append(variants, variant{i, fact})
				rows = append(rows, without(e.Facts, fact))
			}
		}
	}
	answers, err := db.Examples(ctx, d.Only().Projection(nil), rows)
	if err != nil {
		return err
	}
	if len(answers) != len(rows) {
		return fmt.Errorf("%d answers to %d examples", len(answers), len(rows))
	}
	for i, e := range d.Examples {
		out.Examples++
		if got, ok := d.fits(e.Expect, answers[i]); !ok {
			out.Problems = append(out.Problems, Problem{
				File: d.File, Line: e.Line, Column: e.Column,
				Message: fmt.Sprintf("example %q: expected %s, came out as %s", e.Name, d.answer(e.Expect.Code, e.Expect.Low, e.Expect.High, e.Expect.End, e.Expect.Presumed), got),
				Hint:    "the reason given is: " + e.Why,
			})
		}
	}
	for i, v := range variants {
		before, after := answers[v.example], answers[len(d.Examples)+i]
		out.Blanks = addTurn(out.Blanks, d, v.fact, before, after)
	}
	return nil
}

// fits compares an answer with the expected one and puts it into words.
func (d Definition) fits(e Expect, r cell.Row) (string, bool) {
	got := d.rowAnswer(r)
	ok := r.Codes[0] == e.Code && r.Presumed[0] == e.Presumed
	if e.Code == cell.Valued {
		ok = ok && r.Low[0] == e.Low && r.High[0] == e.High && r.End[0] == e.End
	}
	return got, ok
}

func (d Definition) rowAnswer(r cell.Row) string {
	return d.answer(r.Codes[0], r.Low[0], r.High[0], r.End[0], r.Presumed[0])
}

// answer puts a code into words.
func (d Definition) answer(c cell.Code, low, high float64, end string, presumed bool) string {
	s := d.CodeWords(c)
	if c == cell.Valued {
		s = Number(low)
		if high != low {
			s += " to " + Number(high)
		}
		if end != "" {
			s += " (" + end + ")"
		}
	}
	if presumed {
		s += ", presumed"
	}
	return s
}

// CodeWords says what a code means for this measure.
func (d Definition) CodeWords(c cell.Code) string {
	reason := func(kind string, rs []Reason, i int) string {
		if i < len(rs) {
			return fmt.Sprintf("%s %d (%s)", kind, i+1, rs[i].Reason)
		}
		return fmt.Sprintf("%s %d", kind, i+1)
	}
	switch c {
	case cell.Outside:
		return "outside"
	case cell.EligibilityUnknown:
		return "eligibility unknown"
	case cell.Unknown:
		return "unknown"
	case cell.Undecided:
		return "undecided"
	case cell.NotMet:
		if d.Data == RareEvent {
			return "no event"
		}
		return "not met"
	case cell.Met:
		if d.Data == RareEvent {
			return "event"
		}
		return "met"
	case cell.Valued:
		return "valued"
	default:
	}
	switch {
	case c >= cell.FirstExclusion && c < cell.FirstExclusion+cell.MaxReasons:
		return reason("excluded", d.Exclusions, int(c-cell.FirstExclusion))
	case c >= cell.FirstException && c < cell.FirstException+cell.MaxReasons:
		return reason("exception", d.Exceptions, int(c-cell.FirstException))
	}
	return fmt.Sprintf("code %q", string(rune(c)))
}

func addTurn(all []Blank, d Definition, fact string, before, after cell.Row) []Blank {
	t := Turn{From: d.rowAnswer(before), To: d.rowAnswer(after), Trap: false}
	if t.From == t.To {
		return all
	}
	definite := func(c cell.Code) bool { return c == cell.Met || c == cell.NotMet || c == cell.Valued }
	a, b := before.Codes[0], after.Codes[0]
	t.Trap = definite(b) && a != b && (definite(a) || a == cell.Unknown || a == cell.EligibilityUnknown || a == cell.Undecided)
	i := slices.IndexFunc(all, func(x Blank) bool { return x.Measure == d.ID && x.Fact == fact })
	if i < 0 {
		all = append(all, Blank{Measure: d.ID, Fact: fact, Becomes: nil})
		i = len(all) - 1
	}
	if !slices.Contains(all[i].Becomes, t) {
		all[i].Becomes = append(all[i].Becomes, t)
	}
	return all
}

func without(m map[string]string, key string) map[string]string {
	out := make(map[string]string, len(m))
	for k, v := range m {
		if k != key {
			out[k] = v
		}
	}
	return out
}

// String prints "measure: fact blank: met becomes unknown; ...".
func (b Blank) String() string {
	turns := make([]string, len(b.Becomes))
	for i, t := range b.Becomes {
		turns[i] = t.From + " becomes " + t.To
		if t.Trap {
			turns[i] += " (look: a blank decides)"
		}
	}
	return fmt.Sprintf("%s: %s blank: %s", b.Measure, b.Fact, strings.Join(turns, "; "))
}
