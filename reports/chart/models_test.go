package chart_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"

	"chestrise/reports/chart"
)

var monthNames = []string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

func months(n, year int) []chart.Point {
	out := make([]chart.Point, n)
	for i := range out {
		name, y := monthNames[i%12], year+i/12
		out[i] = chart.Point{Label: fmt.Sprintf("%s %d", name, y), Short: name, Year: strconv.Itoa(y)}
	}
	return out
}

// shares is a p chart of n months around 39 % with stepped limits at three
// binomial standard errors, and 66 % from a month on.
func shares(n int, shift int) chart.Model {
	r := rand.New(rand.NewPCG(7, uint64(n)))
	m := chart.Model{
		ID: "begun", Title: "Ventilation begun by 60 s", Subtitle: "Of those who needed it at one minute, how many had it by 60 s?",
		Alt: "A p chart of monthly shares.", Kind: "p chart, monthly", CentreIs: "mean",
		Y: chart.Axis{Label: "newborns ventilated by 60 s", Format: chart.Percent}, Points: months(n, 2024),
	}
	rows := []chart.Row{{Label: "n"}, {Label: "known, %"}}
	for i := range m.Points {
		p, of, share := &m.Points[i], 25+r.IntN(25), 0.39
		if i >= shift {
			share = 0.66
		}
		met := 0
		for range of {
			if r.Float64() < share {
				met++
			}
		}
		p.Value, p.Has = float64(met)/float64(of), true
		se := math.Sqrt(0.39 * 0.61 / float64(of))
		p.Centre, p.Lower, p.Upper = new(0.39), new(max(0, 0.39-3*se)), new(0.39+3*se)
		p.Low, p.High = new(max(0, p.Value-0.04)), new(min(1, p.Value+0.05))
		rows[0].Texts = append(rows[0].Texts, strconv.Itoa(of))
		rows[1].Texts = append(rows[1].Texts, strconv.Itoa(88+r.IntN(13)))
	}
	m.Rows = rows
	return m
}

func span(from, to int) []int {
	var out []int
	for i := from; i < to; i++ {
		out = append(out, i)
	}
	return out
}

// ordinary is the chart of a good month: a shift, an outlier, two marks, an
// aim, an open month, a gap, a thin month.
func ordinary() chart.Model {
	m := shares(36, 26)
	m.Title = "Ventilation begun by 60 s: higher since Mar 2026"
	m.Signals = []chart.Signal{
		{Letter: "A", Points: span(26, 34), Words: "Eight months in a row above the mean, Mar to Oct 2026.", Sense: chart.Better},
		{Letter: "B", Points: []int{28, 29}, Words: "Above the upper limit, May and Jun 2026.", Sense: chart.Better},
		{Letter: "C", Points: []int{4}, Words: "Below the lower limit, May 2024.", Sense: chart.Worse},
	}
	m.Marks = []chart.Mark{{At: 14, Text: "new timer"}, {At: 24, Text: "team training"}, {At: 27, Text: "checklist"}}
	m.Target = &chart.Target{Value: 0.6, Text: "agreed by the unit in January 2025."}
	m.Points[35].Hollow, m.Points[35].Why = true, "month still open"
	m.Points[7] = chart.Point{Label: "Aug 2024", Short: "Aug", Year: "2024", Why: "no newborn needed ventilation", Centre: new(0.39)}
	m.Points[19].Hollow, m.Points[19].Why = true, "too much is missing to judge"
	m.Points[19].Low, m.Points[19].High = new(0.2), new(0.7)
	m.Notes = []string{"Limits from Jan 2024 to Dec 2025, stored on 12 Jan 2026."}
	return m
}

// medians is a run chart in seconds with a recorded break and provisional limits.
func medians() chart.Model {
	m := shares(24, 99)
	m.Title, m.Subtitle = "Seconds to the first effective sign", ""
	m.Kind, m.CentreIs = "run chart of medians", "median"
	m.Y = chart.Axis{Label: "seconds from complete birth, median", Format: chart.Seconds}
	for i := range m.Points {
		p := &m.Points[i]
		*p = chart.Point{Label: p.Label, Short: p.Short, Year: p.Year, Value: 70 + 30*math.Sin(float64(i)*1.7), Has: true, Centre: new(71.5)}
		if i >= 12 {
			p.Phase, p.Centre = 1, new(float64(64))
		}
	}
	m.Phases = []chart.Phase{{From: 0, To: 11}, {From: 12, To: 23, Label: "new form", Provisional: true}}
	m.Signals = []chart.Signal{{Letter: "A", Points: span(3, 8), Words: "Five months.", Sense: chart.Neither}}
	return m
}

// crowded has everything at once over ten years.
func crowded() chart.Model {
	m := shares(120, 70)
	m.Title = strings.Repeat("A title that tells much more than anybody would like to read on one page ", 3)
	m.Target = &chart.Target{Value: 0.39, Text: "an aim that is the mean as well."}
	for i := range m.Points {
		m.Marks = append(m.Marks, chart.Mark{At: i, Text: fmt.Sprintf("training day %d", i+1)})
	}
	for k := range 12 {
		s := chart.Signal{Letter: string(rune('A' + k)), Words: strings.Repeat("a rule explained at length, ", 9), Sense: chart.Sense(k % 3)}
		for i := k * 6; i < min(k*6+40, 120); i += 1 + k%3 {
			s.Points = append(s.Points, i)
		}
		m.Signals = append(m.Signals, s)
	}
	for k := range 10 {
		m.Phases = append(m.Phases, chart.Phase{From: 12 * k, To: 12*k + 11, Label: fmt.Sprintf("limits of the form in use since the year %d", 2024+k), Provisional: k%2 == 0})
		for i := range 12 {
			m.Points[12*k+i].Phase = k
		}
	}
	return m
}

// adversarial is every model that a layout may be afraid of.
func adversarial() map[string]chart.Model {
	out := map[string]chart.Model{"ordinary": ordinary(), "medians": medians(), "crowded": crowded(), "no model": {}}

	one := shares(1, 0)
	one.Marks = []chart.Mark{{At: 0, Text: "opened"}}
	one.Signals = []chart.Signal{{Letter: "A", Points: []int{0}, Words: "above", Sense: chart.Worse}}
	out["one point"] = one

	unknown := shares(12, 99)
	for i := range unknown.Points {
		unknown.Points[i].Has, unknown.Points[i].Why = false, "no times were recorded"
	}
	out["nothing known"] = unknown

	all := shares(24, 10)
	for k := range 8 {
		all.Signals = append(all.Signals, chart.Signal{Letter: string(rune('A' + k)), Points: span(0, 24), Words: "every point", Sense: chart.Sense(k % 3)})
	}
	out["all signals at every point"] = all

	marked := shares(24, 10)
	for i := range marked.Points {
		marked.Marks = append(marked.Marks, chart.Mark{At: i, Text: "visit"}, chart.Mark{At: i, Text: "another"})
	}
	marked.Marks = append(marked.Marks, chart.Mark{At: 99, Text: "beyond"}, chart.Mark{At: -1, Text: "before"})
	out["every month an intervention"] = marked

	long := shares(6, 10)
	for i := range long.Points {
		long.Marks = append(long.Marks, chart.Mark{At: i, Text: "an intervention that is told with far more words than an axis has room for"})
	}
	long.Rows = append(long.Rows, chart.Row{Label: "newborns whose first inflation was timed from a started clock", Texts: []string{"123456", "123456", "123456", "123456", "123456", "123456"}})
	out["long words"] = long

	flat := shares(30, 99)
	for i := range flat.Points {
		p := &flat.Points[i]
		p.Value, p.Centre, p.Lower, p.Upper, p.Low, p.High = 0.5, new(0.5), new(0.5), new(0.5), nil, nil
	}
	flat.Target = &chart.Target{Value: 0.5}
	out["all lines at one height"] = flat

	far := shares(30, 99)
	far.Y.Format = chart.Plain
	far.Points[11].Value = 1e6
	far.Points[12].Value = -1e6
	out["extremes"] = far

	births := shares(30, 99)
	births.Y = chart.Axis{Label: "births between two", Format: chart.Births}
	births.Rows = nil
	for i := range births.Points {
		p := &births.Points[i]
		*p = chart.Point{Label: fmt.Sprintf("event %d", i+1), Short: strconv.Itoa(i + 1), Value: float64((i * 7919) % 1500), Has: true, Centre: new(float64(326)), Upper: new(float64(3143))}
	}
	out["births"] = births

	cold := medians()
	cold.Y = chart.Axis{Label: "°C on admission", Format: chart.Celsius, Min: new(float64(35)), Max: new(float64(38))}
	for i := range cold.Points {
		p := &cold.Points[i]
		p.Value, p.Centre, p.Lower, p.Upper = 36.4+0.3*math.Sin(float64(i)), new(36.6), new(36.1), new(37.1)
	}
	out["temperatures"] = cold

	odd := shares(5, 99)
	odd.Title = "emoji \U0001F476, control \x00, bad \xff, arabic \u0645, tabs\tand\nlines"
	odd.Points[2].Value = math.NaN()
	odd.Points[3].Upper = new(math.Inf(1))
	odd.Signals = []chart.Signal{{Letter: "Z", Points: []int{-4, 2, 77}, Words: "points that are not there"}, {Letter: "Y"}}
	odd.Phases = []chart.Phase{{From: 9, To: 12, Label: "nowhere"}, {From: 3, To: 99, Label: "from here"}}
	odd.Points[4].Letter = "Q"
	out["odd input"] = odd
	return out
}
