package workbook_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"chestrise/reports"
	"chestrise/reports/chart"
)

var months = []string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// shares is an invented p chart: n months from January 2023, limits of three
// binomial standard deviations about a centre for each phase.
func shares(n int, seed uint64) chart.Model {
	rnd := rand.New(rand.NewPCG(seed, 7))
	m := chart.Model{
		ID: fmt.Sprintf("begun_by_60_s_%d", seed), Kind: "p chart", CentreIs: "mean",
		Title:    "Ventilation begun by 60 s: above the centre since Feb 2025",
		Subtitle: "Of the newborns who were ventilated, how many had begun within a minute of birth?",
		Alt:      "Monthly share of newborns whose ventilation had begun by 60 seconds. It rose from about 39 % to about 65 % in February 2025.",
		Y:        chart.Axis{Label: "share begun by 60 s", Format: chart.Percent},
		Rows:     []chart.Row{{Label: "n"}, {Label: "known"}},
	}
	for i := range n {
		month, year := months[i%12], 2023+i/12
		p := chart.Point{Label: fmt.Sprintf("%s %d", month, year), Short: month}
		if i%12 == 0 {
			p.Year = strconv.Itoa(year)
		}
		of := 12 + rnd.IntN(12)
		centre, truth := 0.39, 0.39
		if i >= n*2/3 {
			truth = 0.68
		}
		if n >= 24 && i >= n/3 {
			p.Phase, centre = 1, 0.44
		}
		k := 0
		for range of {
			if rnd.Float64() < truth {
				k++
			}
		}
		unknown := rnd.IntN(4)
		if i%17 == 9 {
			p.Why = "no newborn was ventilated"
		} else {
			p.Has, p.Value = true, float64(k)/float64(of)
			if unknown > 2 {
				p.Low, p.High = new(float64(k)/float64(of+unknown)), new(float64(k+unknown)/float64(of+unknown))
			}
		}
		sd := math.Sqrt(centre * (1 - centre) / float64(of))
		p.Centre, p.Lower, p.Upper = new(centre), new(max(0, centre-3*sd)), new(min(1, centre+3*sd))
		m.Rows[0].Texts = append(m.Rows[0].Texts, strconv.Itoa(of))
		m.Rows[1].Texts = append(m.Rows[1].Texts, fmt.Sprintf("%d %%", 100-unknown*5))
		m.Points = append(m.Points, p)
	}
	if n == 0 {
		return m
	}
	m.Phases = []chart.Phase{{From: 0, To: n - 1}}
	if n >= 24 {
		m.Phases = []chart.Phase{{From: 0, To: n/3 - 1, Label: "first baseline"}, {From: n / 3, To: n - 1, Label: "new timer: new baseline", Provisional: true}}
		m.Marks = []chart.Mark{{At: n / 4, Text: "new warmers"}, {At: n * 2 / 3, Text: "training days, every shift"}}
		s := chart.Signal{Letter: "A", Words: "eight months in a row above the centre since " + m.Points[n*2/3].Label, Sense: chart.Better}
		for i := n * 2 / 3; i < n-1; i++ {
			if m.Points[i].Has {
				m.Points[i].Letter = "A"
				s.Points = append(s.Points, i)
			}
		}
		m.Points[n-2].Letter = "AB"
		m.Points[n-2].Has, m.Points[n-2].Value = true, 0.95
		m.Signals = []chart.Signal{s, {Letter: "B", Points: []int{n - 2}, Words: "one month beyond the upper limit, " + m.Points[n-2].Label, Sense: chart.Better}}
	}
	last := &m.Points[n-1]
	last.Hollow, last.Why = true, "open month: records are still coming in"
	m.Target = &chart.Target{Value: 0.8, Text: "unit aim"}
	m.Notes = []string{"Limits are three standard deviations about the mean; they differ by month because the number of newborns differs."}
	return m
}

// temperatures is an invented individuals chart of monthly medians.
func temperatures(n int) chart.Model {
	rnd := rand.New(rand.NewPCG(3, 11))
	m := chart.Model{
		ID: "admission_temperature", Kind: "individuals chart", CentreIs: "mean",
		Title: "Median admission temperature", Alt: "Monthly median of the temperature on admission. No signal.",
		Y:    chart.Axis{Label: "median temperature", Format: chart.Celsius},
		Rows: []chart.Row{{Label: "n"}},
	}
	for i := range n {
		p := chart.Point{
			Label: fmt.Sprintf("%s %d", months[i%12], 2023+i/12), Short: months[i%12], Has: true,
			Value: math.Round((36.6+rnd.NormFloat64()*0.2)*10) / 10, Centre: new(36.62), Lower: new(36.04), Upper: new(37.2),
		}
		if i%12 == 0 {
			p.Year = strconv.Itoa(2023 + i/12)
		}
		m.Rows[0].Texts = append(m.Rows[0].Texts, strconv.Itoa(20+rnd.IntN(9)))
		m.Points = append(m.Points, p)
	}
	return m
}

// tail keeps the last n points of a chart.
func tail(m chart.Model, n int) chart.Model {
	from := max(0, len(m.Points)-n)
	m.Points = m.Points[from:]
	m.Marks, m.Phases = nil, nil
	var signals []chart.Signal
	for _, s := range m.Signals {
		kept := s
		kept.Points = nil
		for _, i := range s.Points {
			if i >= from {
				kept.Points = append(kept.Points, i-from)
			}
		}
		signals = append(signals, kept)
	}
	m.Signals = signals
	return m
}

func sample() (*reports.Document, reports.Stamp) {
	begun, warm := shares(36, 1), temperatures(36)
	d := &reports.Document{
		Title: "Ventilation at birth: the unit's month", Subject: "Measures of newborn resuscitation, December 2025",
		Keywords: []string{"newborn", "ventilation", "control chart"},
		Unit:     "Unit 3, Northgate & Holm", Period: "December 2025", Notices: []string{"Synthetic data: no real newborn is in this workbook."},
	}
	d.Sections = []reports.Section{
		{ID: "overview", Title: "What changed", Sheet: "Overview", Blocks: []reports.Block{
			reports.Text{Text: "Ventilation begins sooner: eight months above the centre since February 2025. It follows the training days.", Strong: true},
			reports.Text{Text: "One measure cannot be judged: fewer than ten newborns were intubated this year.", Strong: true},
			reports.Text{Text: "About 0.4 of these 6 charts would signal this month by chance."},
			reports.Multiples{Items: []reports.Multiple{
				{Title: "Ventilation begun by 60 s", Link: "begun", Latest: "16 of 17 (94 %)", Centre: "44 %", Words: "A: eight months in a row above the centre; B: beyond the upper limit", Known: "95 %", Chart: tail(begun, 24)},
				{Title: "Median admission temperature", Link: "warm", Latest: "36.7 °C, n = 23", Centre: "36.6 °C", Words: "no signal", Known: "100 %", Chart: tail(warm, 24)},
				{Title: "Intubated at birth", Link: "nowhere", Latest: "0 of 14", Centre: "3.1 %", Words: "not judged: too few", Known: "100 %", Chart: tail(shares(30, 5), 24)},
			}},
		}},
		{ID: "begun", Title: "Ventilation begun by 60 s", Sheet: "Begun by 60 s", Blocks: []reports.Block{
			reports.Text{Text: "The share rose after the training days and has stayed up.", Strong: true},
			reports.Figure{Chart: begun},
			reports.Heading{Text: "What is counted"},
			reports.Facts{Pairs: [][2]string{
				{"Population", "All newborns born here who were ventilated by mask or tube in the delivery room."},
				{"Met", "The first effective breath was given no later than 60 seconds after complete birth."},
				{"Left out", "Newborns with a plan of comfort care."},
			}},
			reports.Table{
				Title: "Flow of newborns", Name: "flow",
				Columns: []reports.Column{{Title: "step", Text: true}, {Title: "newborns", Format: chart.Count}, {Title: "share of the step before", Format: chart.Percent}},
				Rows: [][]reports.Cell{
					{{Text: "births"}, {Number: new(float64(402))}, {Text: ""}},
					{{Text: "attended by a newborn team", Link: "warm"}, {Number: new(float64(118))}, {Number: new(118.0 / 402)}},
					{{Text: "ventilated"}, {Number: new(float64(19))}, {Number: new(19.0 / 118)}},
					{{Text: "time usable"}, {Number: new(float64(17))}, {Number: new(17.0 / 19)}},
				},
			},
			reports.Footnotes{Items: []string{"A change from 44 % to 60 % would take about 9 months to show at this unit's numbers."}},
		}},
		{ID: "warm", Title: "Median admission temperature", Sheet: "Temperature", Blocks: []reports.Block{
			reports.Figure{Chart: warm},
		}},
		{ID: "complete", Title: "Records to complete", Sheet: "To complete", Blocks: []reports.Block{
			reports.Text{Text: "These records lack something that a measure needs."},
			reports.Table{
				Name:    "to_complete",
				Columns: []reports.Column{{Title: "record", Text: true}, {Title: "month", Text: true}, {Title: "what is missing", Text: true}, {Title: "which measure it would rescue", Text: true}},
				Rows:    completions(60),
			},
		}},
		{ID: "definitions", Title: "Definitions", Sheet: "Definitions", Blocks: []reports.Block{
			reports.Heading{Text: "Words"},
			reports.List{Items: []string{"Known: the share of newborns for whom the measure could be decided.", "Hollow: not judged yet."}},
			reports.List{Items: []string{"First the records are completed.", "Then the month closes."}, Ordered: true},
			reports.Table{Title: "Restated figures", Name: "restated", Empty: "No figure of an earlier issue has changed."},
		}},
		{ID: "print-only", Title: "Only on paper", Blocks: []reports.Block{reports.Text{Text: "not in the workbook"}}},
	}
	s := reports.Stamp{
		Created: time.Date(2026, time.January, 2, 4, 30, 0, 0, time.UTC), Generation: 812, Issue: 3, Replaces: 2,
		Program: "0.1.0", Catalogue: "2026-01", Edition: "edition of 2021", Coverage: "every birth", Synthetic: true,
	}
	return d, s
}

func completions(n int) [][]reports.Cell {
	rows := make([][]reports.Cell, n)
	for i := range rows {
		rows[i] = []reports.Cell{
			{Text: fmt.Sprintf("%08x", 2654435761*uint32(i+1))},
			{Text: "Dec 2025"},
			{Text: "the clock of the first ventilation is not known"},
			{Text: "ventilation begun by 60 s"},
		}
	}
	return rows
}
