package measure

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/cell"
)

// answers is a database of fixed opinions: a newborn with tube = yes is met, with
// tube = no not met, with neither unknown; blank sex is met, as a trap.
type answers struct{ faults []cell.Fault }

func (a answers) Check(context.Context, cell.Projection) ([]cell.Fault, error) { return a.faults, nil }

func (a answers) Examples(_ context.Context, _ cell.Projection, rows []map[string]string) ([]cell.Row, error) {
	out := make([]cell.Row, len(rows))
	for i, r := range rows {
		code := cell.Unknown
		switch {
		case r["tube"] == "yes" || r["sex"] == "" && r["tube"] == "later":
			code = cell.Met
		case r["tube"] != "":
			code = cell.NotMet
		}
		out[i] = cell.Row{Codes: []cell.Code{code}, Presumed: []bool{false}, Low: []float64{0}, High: []float64{0}, End: []string{""}}
	}
	return out, nil
}

const small = `id: small
title: A title
question: A question?
family: process
tier: further
version: 1
data: proportion
direction: up
population: {words: All., condition: true}
met:
  words: Met.
  condition: |
    tube = 'yes'
    and sex = 'male'
missing: {rule: known, words: Unknown is left out.}
chart: {kind: p, words: A share.}
examples:
  - {name: one, facts: {tube: "yes", sex: male}, expect: met, why: Because.}
  - {name: two, facts: {tube: "no", sex: male}, expect: met, why: It was thought so.}
  - {name: three, facts: {tube: later, sex: male}, expect: not met, why: Because.}
  - {name: four, facts: {sex: male}, expect: unknown, why: Because.}
`

func TestCheck(t *testing.T) {
	d, problems := read("m/small.yaml", []byte(small))
	require.NoError(t, problems.Err())
	c := d.Only()
	got, err := c.Check(t.Context(), answers{})
	require.NoError(t, err)
	require.Equal(t, 4, got.Examples)
	require.EqualError(t, got.Problems, "m/small.yaml:19:57: example \"two\": expected met, came out as not met\nhint: the reason given is: It was thought so.")
	said := make([]string, len(got.Blanks))
	for i, b := range got.Blanks {
		said[i] = b.String()
	}
	require.Equal(t, []string{
		"small: sex blank: not met becomes met (look: a blank decides)",
		"small: tube blank: met becomes unknown; not met becomes unknown",
	}, said)

	// What the database refuses is found again in the block of the file, and the
	// examples of that measure are not run.
	at := strings.Index(d.Met.Condition.Text, "sex") + 1
	got, err = c.Check(t.Context(), answers{faults: []cell.Fault{{Measure: "small", Part: "met", Where: d.Met.Condition, Rune: at, State: "42883", Message: "operator does not exist"}}})
	require.NoError(t, err)
	require.EqualError(t, got.Problems, "m/small.yaml:14:9: met: operator does not exist")
	require.Zero(t, got.Examples)
}

func TestShow(t *testing.T) {
	c := catalogue(t)
	for _, d := range c.Measures {
		text := d.Show(80)
		for l := range strings.SplitSeq(text, "\n") {
			if !strings.HasPrefix(l, "    | ") {
				require.LessOrEqual(t, len([]rune(l)), 80, l)
			}
		}
		require.True(t, strings.HasPrefix(text, d.Title+"\n"))
		plain := strings.Join(strings.Fields(text), " ")
		for _, words := range []string{d.Question, d.Population.Words, d.Missing.Words} {
			require.Contains(t, plain, words)
		}
		for _, r := range append(d.Exclusions, d.Exceptions...) {
			require.Contains(t, strings.ToLower(plain), strings.ToLower(r.Reason))
		}
		for _, e := range d.Examples {
			require.Contains(t, plain, e.Why)
		}
	}
	d, _ := c.Get("seconds-to-effective-ventilation")
	text := strings.Join(strings.Fields(d.Show(0)), " ")
	require.Contains(t, text, "Signs: chest movement; exhaled CO2; heart rate of 100 or more; heart rate up by 20.")
	require.Contains(t, text, "whole clock minutes: 0.25 to 119.75 (compressions).")
}
