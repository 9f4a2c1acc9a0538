package registry

import (
	"fmt"
	"slices"
	"strconv"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// part is a condition of a measure with its name.
type part struct {
	name string
	c    cell.Condition
	cast string // what the value must be
}

const (
	isTruth  = " is true"
	isNumber = "::double precision"
	isText   = "::text"
)

// parts lists the conditions that a measure has: population, exclusions, met,
// missed, presumed, low, high, end, open, exceptions.
func parts(m *cell.Projected) []part {
	all := []part{{"population", m.Population, isTruth}}
	for i, c := range m.Exclusions {
		all = append(all, part{"exclusion " + strconv.Itoa(i+1), c, isTruth})
	}
	all = append(all, part{"met", m.Met, isTruth}, part{"missed", m.Missed, isTruth}, part{"presumed", m.Presumed, isTruth},
		part{"low", m.Low, isNumber}, part{"high", m.High, isNumber}, part{"end", m.End, isText}, part{"open", m.Open, isTruth})
	for i, c := range m.Exceptions {
		all = append(all, part{"exception " + strconv.Itoa(i+1), c, isTruth})
	}
	return slices.DeleteFunc(all, func(p part) bool { return p.c.Text == "" })
}

// argument is a parameter in a statement.
type argument struct{ Name, Arg string }

// coded is a condition with the code that it gives.
type coded struct{ Text, Code string }

// word is a code list's word with its code.
type wordCode struct {
	Word string
	Code int
}

// slots is a measure in the projection's template; absent conditions are empty.
type slots struct {
	Population, Met, Missed, Presumed, Low, High, End, Open string
	Exclusions, Exceptions                                  []coded
}

// statement is what the projection's template needs.
type statement struct {
	Rows       bool // rows are given instead of read
	Parameters []argument
	Bands      []wordCode
	Measures   []slots
	Strata     []string
}

// compileAll turns a projection into what its template needs; arg is the number
// of the first argument that is a parameter.
func compileAll(p *cell.Projection, rows bool, arg int) (statement, error) {
	s := statement{Rows: rows}
	known := map[string]bool{}
	for i, q := range p.Parameters {
		if !parameterName.MatchString(q.Name) || known[q.Name] {
			return s, fmt.Errorf("parameter %q: a name is lower case and used once", q.Name)
		}
		known[q.Name] = true
		s.Parameters = append(s.Parameters, argument{column(q.Name), "$" + strconv.Itoa(arg+i)})
	}
	for i, word := range record.FactSpecs[record.FactGestationBand].Codes {
		s.Bands = append(s.Bands, wordCode{word, i + 1})
	}
	for _, name := range p.Strata {
		if _, ok := factOf[name]; !ok {
			return s, fmt.Errorf("stratum %q is not a fact", name)
		}
	}
	s.Strata = p.Strata
	for i := range p.Measures {
		m, err := compileMeasure(&p.Measures[i], known)
		if err != nil {
			return s, err
		}
		s.Measures = append(s.Measures, m)
	}
	return s, nil
}

func compileMeasure(m *cell.Projected, known map[string]bool) (slots, error) {
	var z slots
	if m.Population.Text == "" || (m.Met.Text == "") == (m.Low.Text == "") || (m.Low.Text == "") != (m.High.Text == "") {
		return z, fmt.Errorf("measure %s: it needs a population and either met or both low and high", m.Measure)
	}
	if len(m.Exclusions) > cell.MaxReasons || len(m.Exceptions) > cell.MaxReasons {
		return z, fmt.Errorf("measure %s: more than %d reasons", m.Measure, cell.MaxReasons)
	}
	text := map[string]string{}
	for _, p := range parts(m) {
		c, err := compile(p.c, known)
		if err != nil {
			return z, fmt.Errorf("measure %s, %s: %w", m.Measure, p.name, err)
		}
		text[p.name] = c.text
	}
	z = slots{
		Population: text["population"], Met: text["met"], Missed: text["missed"], Presumed: text["presumed"],
		Low: text["low"], High: text["high"], End: text["end"], Open: text["open"],
	}
	if z.Missed == "" && z.Met != "" {
		z.Missed = "not (" + z.Met + ")"
	}
	for i := range m.Exclusions {
		z.Exclusions = append(z.Exclusions, coded{text["exclusion "+strconv.Itoa(i+1)], string(rune(cell.FirstExclusion) + rune(i))})
	}
	for i := range m.Exceptions {
		z.Exceptions = append(z.Exceptions, coded{text["exception "+strconv.Itoa(i+1)], string(rune(cell.FirstException) + rune(i))})
	}
	return z, nil
}

// factOf finds facts by column name.
var factOf = func() map[string]record.Fact {
	m := make(map[string]record.Fact, record.NumFacts)
	for f, s := range record.FactSpecs {
		m[s.Name] = record.Fact(f)
	}
	return m
}()

// inWords turns the database's text of a fact into the dictionary's.
func inWords(name, text string) string {
	if f, ok := factOf[name]; ok {
		if t := record.FactSpecs[f].Type; t == record.YesNoType || t == record.MarkType {
			switch text {
			case "true":
				return "yes"
			case "false":
				return "no"
			}
		}
	}
	return text
}
