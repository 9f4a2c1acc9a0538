package metrics

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// Whatever the cells, a view comes out whole: flows add up, bounds enclose the
// share, texts are written, and no number is anything but a number.
func TestAnyCellsGiveAWholeView(t *testing.T) {
	base, _ := engine(t, 1)
	rapid.Check(t, func(t *rapid.T) {
		e := *base
		m := &memory{generation: 3}
		e.Facts, e.Store, e.Ledger = m, m, m
		n := rapid.SampledFrom([]int{1, 2, 7, 14, 30, 45}).Draw(t, "months")
		closed := n - rapid.SampledFrom([]int{0, 0, 0, 1, n}).Draw(t, "open")
		if closed > 0 {
			d := complete(begin + record.Month(closed) - 1)
			d.Coverage = record.Coverage(rapid.IntRange(1, 3).Draw(t, "coverage"))
			if rapid.Bool().Draw(t, "recording") {
				d.Recording = []record.Recording{
					{Unit: "u", From: begin, How: record.After}, {Unit: "u", From: begin + record.Month(rapid.IntRange(0, n).Draw(t, "changed")), How: record.ByDevice, Form: "b"},
				}
			}
			m.deliveries = []record.Delivery{d}
		}
		e.Settings = Settings{GraceDays: 5}
		if rapid.Bool().Draw(t, "phase") {
			e.Settings.Phases = []PhaseStart{{Unit: "u", From: begin + record.Month(rapid.IntRange(-2, n+2).Draw(t, "phase from")), Reason: "r", DecidedBy: "lead", Signal: "s"}}
		}
		few := rapid.IntRange(0, 6)
		for i := range n {
			for _, d := range e.Catalogue.Measures {
				if rapid.IntRange(0, 9).Draw(t, "absent") == 0 {
					continue
				}
				put(&e, m, d.ID, i, func(c *cell.Cell) { randomCell(t, d, c, few) })
			}
		}
		_, err := e.Freeze(t.Context(), []string{"u"})
		require.NoError(t, err)
		stored := len(m.baselines)
		v, err := e.Unit(t.Context(), "u", begin+record.Month(rapid.IntRange(-1, n).Draw(t, "month")), nil)
		require.NoError(t, err)
		again, err := e.Freeze(t.Context(), []string{"u"})
		require.NoError(t, err)
		require.Empty(t, again)
		require.Len(t, m.baselines, stored)
		numbers(t, reflect.ValueOf(v), "view")
		require.NotEmpty(t, v.Headline)
		require.Len(t, v.Measures, len(e.Catalogue.Measures))
		for _, p := range v.Measures {
			whole(t, p)
		}
	})
}

func randomCell(t *rapid.T, d measure.Definition, c *cell.Cell, few *rapid.Generator[int]) {
	draw := func(what string) int32 { return int32(few.Draw(t, what)) }
	c.Band = uint8(rapid.IntRange(0, 7).Draw(t, "band"))
	c.Outside, c.EligibilityUnknown, c.Unknown, c.Undecided = 3*draw("outside"), draw("?"), draw("unknown"), draw("undecided")
	for i := range c.Excluded {
		c.Excluded[i] = draw("excluded")
	}
	for i := range c.Exceptions {
		c.Exceptions[i] = draw("exceptions")
	}
	c.Met, c.NotMet = draw("met"), draw("not met")
	switch d.Data {
	case measure.Value:
		ends := []string{"heart-rate-100", "chest-movement", "airway-attempt", "stopped", ""}
		c.Met, c.NotMet = 0, 0
		for range draw("items") {
			low := rapid.Float64Range(0, 300).Draw(t, "low")
			end := rapid.SampledFrom(ends).Draw(t, "end")
			if d.Sign(end) {
				c.Met++
			} else {
				c.NotMet++
			}
			c.Items = append(c.Items, cell.Item{Order: draw("order"), Low: low, High: low + float64(rapid.IntRange(0, 1).Draw(t, "open"))*60, End: end})
		}
	case measure.RareEvent:
		c.Births = c.Met + c.NotMet + c.Unknown + c.Undecided
		for i := range c.Met {
			c.Items = append(c.Items, cell.Item{Order: i + 1})
		}
	}
}

// whole checks one page.
func whole(t *rapid.T, p MeasureView) {
	require.NotEmpty(t, p.Title)
	require.NotEmpty(t, p.Measured)
	if p.Absent != "" {
		require.False(t, p.Drawn)
		return
	}
	require.Equal(t, len(p.Chart.Points), len(p.Points))
	for i, pt := range p.Points {
		c := p.Chart.Points[i]
		require.Equal(t, pt.Hollow != "", c.Hollow, "a hollow point says why")
		require.LessOrEqual(t, pt.From, pt.To)
		if pt.Bounds != nil {
			require.LessOrEqual(t, pt.Bounds.Low, pt.Bounds.High)
			if c.Has && p.Axis.Percent {
				require.LessOrEqual(t, pt.Bounds.Low, c.Value+1e-12)
				require.GreaterOrEqual(t, pt.Bounds.High, c.Value-1e-12)
			}
		}
	}
	for _, f := range []Flow{p.Flow, p.Year} {
		left := int64(-1)
		for _, s := range f.Steps {
			switch {
			case s.Kind == "births":
				left = s.Count
			case s.Loss:
				left -= s.Count
				require.GreaterOrEqual(t, left, int64(0))
			case s.Kind == "population" || s.Kind == "known":
				require.Equal(t, left, s.Count, "%s %s", f.Label, s.Name)
			}
		}
		if p.Definition.Data != measure.RareEvent && len(f.Steps) > 0 {
			var answers int64
			for _, s := range f.Steps {
				if s.Kind == "met" || s.Kind == "not-met" || s.Kind == "end" {
					answers += s.Count
				}
			}
			require.Equal(t, left, answers)
		}
	}
	for _, s := range p.Signals {
		require.NotEmpty(t, s.Text)
		require.False(t, s.New && !s.Active)
	}
	for _, k := range p.Marks {
		require.True(t, k.At >= -1 && k.At < len(p.Points))
	}
	if p.NotJudged != "" && p.Drawn {
		require.Equal(t, NotJudged, p.Change.Kind)
	}
}

// numbers walks a value and refuses every NaN and infinity.
func numbers(t *rapid.T, v reflect.Value, path string) {
	switch v.Kind() {
	case reflect.Float64:
		require.False(t, math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0), path)
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			numbers(t, v.Elem(), path)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			numbers(t, v.Field(i), path+"."+v.Type().Field(i).Name)
		}
	case reflect.Slice:
		for i := range v.Len() {
			numbers(t, v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		}
	}
}
