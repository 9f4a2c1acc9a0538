package metrics

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

const (
	begun       = "ventilation-begun-by-60-seconds"
	effective   = "seconds-to-effective-ventilation"
	anyStep     = "any-corrective-step"
	intubated   = "intubated-at-birth"
	temperature = "admission-temperature-in-range"
	between     = "births-between-compressions"
)

// row is one newborn: the codes in the order begun, effective, step, intubated,
// temperature, between.
func row(i, order int, band uint8, codes string) cell.Row {
	codes += "." // seconds to first ventilation
	r := cell.Row{
		Unit: "u", Month: begin + record.Month(i), Order: int32(order), Band: band,
		Codes: []cell.Code(codes), Presumed: make([]bool, len(codes)), Low: make([]float64, len(codes)), High: make([]float64, len(codes)), End: make([]string, len(codes)),
	}
	return r
}

func TestCompute(t *testing.T) {
	e, m := engine(t, 2)
	valued := func(r cell.Row, low, high float64, end string) cell.Row {
		r.Low[1], r.High[1], r.End[1] = low, high, end
		return r
	}
	presumed := func(r cell.Row) cell.Row {
		r.Presumed[0] = true
		return r
	}
	m.rows = []cell.Row{
		row(0, 1, record.Band37, ".....0"),
		presumed(valued(row(0, 2, record.Band37, "1v1000"), 57, 57, "heart-rate-100")),
		valued(row(0, 3, record.Band28, "0v0111"), 84, 84, "airway-attempt"),
		row(0, 4, record.Band28, "~~u0Au"),
		row(0, 5, record.Band37, "A?..B?"),
		row(0, 9, record.BandUnknown, "N..A.1"),
		row(1, 0, record.Band37, "?....1"),
	}
	out, err := e.Compute(t.Context())
	require.NoError(t, err)
	require.EqualValues(t, 7, out.Newborns)
	require.Len(t, out.UnitMonths, 2)
	require.Len(t, m.defined, len(e.Catalogue.Measures), "every definition is kept as it was written")

	get := func(id string, i int, band uint8) cell.Cell {
		for _, c := range m.cells {
			if c.Measure == id && c.Month == begin+record.Month(i) && c.Band == band {
				return c
			}
		}
		require.Fail(t, "no cell", "%s %d %d", id, i, band)
		return cell.Cell{}
	}
	c := get(begun, 0, record.Band37)
	require.Equal(t, []int32{1, 0}, c.Excluded)
	require.Equal(t, []int32{1, 1, 0, 1}, []int32{c.Outside, c.Met, c.NotMet, c.Presumed})
	c = get(begun, 0, record.Band28)
	require.Equal(t, []int32{1, 1}, []int32{c.NotMet, c.Undecided})
	require.Equal(t, []int32{1}, get(begun, 0, record.BandUnknown).Exceptions)
	require.EqualValues(t, 1, get(begun, 1, record.Band37).EligibilityUnknown)

	require.Equal(t, []cell.Item{{Order: 2, Low: 57, High: 57, End: "heart-rate-100"}}, get(effective, 0, record.Band37).Items)
	c = get(effective, 0, record.Band28)
	require.Equal(t, []int32{0, 1, 1}, []int32{c.Met, c.NotMet, c.Undecided}, "another end is no sign")

	// The event of the third newborn has place 3 among the births, that of the sixth
	// place 5: the one whose belonging cannot be told is no birth.
	require.Equal(t, []cell.Item{{Order: 3}}, get(between, 0, record.Band28).Items)
	require.Equal(t, []cell.Item{{Order: 5}}, get(between, 0, record.BandUnknown).Items)
	require.EqualValues(t, 2, get(between, 0, record.Band28).Births)
	require.EqualValues(t, 1, get(between, 0, record.Band28).Unknown, "a birth of unknown outcome")
	require.Equal(t, []cell.Item{{Order: 0}}, get(between, 1, record.Band37).Items, "without a birth sequence the place is not known")

	// A month without any newborn in a band is still computed; nothing is stale now.
	require.EqualValues(t, e.Bases()[begun], get(begun, 1, 0).Basis)
	again, err := e.Compute(t.Context())
	require.NoError(t, err)
	require.Empty(t, again.UnitMonths)

	// A full recompute gives identical cells.
	before := append([]cell.Cell(nil), m.cells...)
	_, err = e.ComputeFor(t.Context(), out.UnitMonths)
	require.NoError(t, err)
	require.Equal(t, before, m.cells)
}

func TestComputeGoesOnWithoutAFailingMeasure(t *testing.T) {
	e, m := engine(t, 1)
	m.rows = []cell.Row{row(0, 1, record.Band37, "1.!000")}
	m.fails = &cell.Uncomputable{Faults: []cell.Fault{{Measure: anyStep, Part: "met", Message: "numeric field overflow"}}}
	out, err := e.Compute(t.Context())
	require.NoError(t, err)
	require.Len(t, out.Failed, 1)
	for _, c := range m.cells {
		require.NotEqual(t, anyStep, c.Measure)
	}
	require.EqualValues(t, 1, page(t, unit(t, e, 0), begun).Points[0].Met)
	require.Contains(t, page(t, unit(t, e, 0), anyStep).Notes, Note{Code: "not-computed", Text: "In 1 month this measure could not be computed; they are missing here."})
}

// What an edition sets a parameter to is part of what a cell rests on.
func TestBasisFollowsEditions(t *testing.T) {
	e, _ := engine(t, 1)
	d, _ := e.Catalogue.Get(begun)
	plain := e.basis(d)
	e.Settings.Editions = map[string][]cell.Change{"begun_limit_s": {{Unit: "u", From: begin, Value: 30}}}
	require.Equal(t, plain, e.basis(d), "the parameter is no edition's")
	d.Parameters[0].Edition = true
	thirty := e.basis(d)
	require.NotEqual(t, plain, thirty)
	e.Settings.Editions["begun_limit_s"][0].From++
	require.NotEqual(t, thirty, e.basis(d))
}

func TestComputeRefusesAStrangeCode(t *testing.T) {
	e, m := engine(t, 1)
	m.rows = []cell.Row{row(0, 1, record.Band37, "1.1Z00")}
	_, err := e.Compute(t.Context())
	require.ErrorContains(t, err, `measure intubated-at-birth: code "Z" is none of its own`)
}
