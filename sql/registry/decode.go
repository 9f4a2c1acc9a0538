package registry

import (
	"database/sql/driver"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// decoder turns the projection's rows into cell rows. Its row is used again and
// again.
type decoder struct {
	all      []place
	some     []int // places of the measures in the row
	presumed []int // places of those that have a presumed condition
	value    []int // places of the value measures
	end      []bool
	strata   []string
	row      cell.Row
}

func newDecoder(p *cell.Projection, s *statement, some []int, all []place) *decoder {
	n := len(p.Measures)
	d := &decoder{all: all, some: some, strata: p.Strata}
	d.row = cell.Row{
		Key: record.Key{}, Unit: "", Month: 0, Order: 0, Band: 0,
		Codes: make([]cell.Code, n), Presumed: make([]bool, n), Low: make([]float64, n), High: make([]float64, n),
		End: make([]string, n), Strata: make([]string, len(p.Strata)),
	}
	for i := range d.row.Codes {
		d.row.Codes[i] = cell.Failed
	}
	for i, at := range some {
		if s.Measures[i].Presumed != "" {
			d.presumed = append(d.presumed, at)
		}
		if s.Measures[i].Low != "" {
			d.value = append(d.value, at)
			d.end = append(d.end, s.Measures[i].End != "")
		}
	}
	return d
}

// decode reads a row: number of the unit-month, key, order, codes, then the
// values and the strata.
func (d *decoder) decode(c []driver.Value) (*cell.Row, error) {
	no, ok := c[0].(int64)
	if !ok || no < 1 || int(no) > len(d.all) {
		return nil, fmt.Errorf("projection: unit-month %v was not asked for", c[0])
	}
	r := &d.row
	r.Unit, r.Month = d.all[no-1].Unit, d.all[no-1].Month
	if c[1] == nil {
		r.Key = record.Key{}
	} else if err := parseKey(&r.Key, asText(c[1])); err != nil {
		return nil, err
	}
	order, _ := c[2].(int64)
	r.Order = int32(order)
	codes := asText(c[3])
	if len(codes) != 1+len(d.some)+len(d.presumed) {
		return nil, fmt.Errorf("projection: %d codes came for %d measures", len(codes), len(d.some))
	}
	r.Band = codes[0] - '0'
	for i, at := range d.some {
		r.Codes[at] = cell.Code(codes[1+i])
	}
	for i, at := range d.presumed {
		r.Presumed[at] = codes[1+len(d.some)+i] == '1'
	}
	c = c[4:]
	for i, at := range d.value {
		low, hasLow := c[0].(float64)
		high, hasHigh := c[1].(float64)
		if r.Codes[at] == cell.Valued && (!hasLow || !hasHigh || !finite(low) || !finite(high)) {
			r.Codes[at] = cell.Unknown
		}
		if r.Codes[at] != cell.Valued {
			low, high = 0, 0
		}
		r.Low[at], r.High[at] = low, high
		c = c[2:]
		if d.end[i] {
			r.End[at] = asText(c[0])
			c = c[1:]
		}
	}
	for i := range d.strata {
		r.Strata[i] = inWords(d.strata[i], asText(c[i]))
	}
	return r, nil
}

func finite(f float64) bool { return !math.IsNaN(f) && !math.IsInf(f, 0) }

// asText reads text as the driver may hand it over; null is empty.
func asText(v driver.Value) string {
	switch v := v.(type) {
	case []byte:
		return string(v)
	case string:
		return v
	}
	return ""
}

// parseKey reads a key in its usual hyphenated form.
func parseKey(to *record.Key, s string) error {
	var digits [32]byte
	n := 0
	for i := 0; i < len(s); i++ {
		if s[i] == '-' {
			continue
		}
		if n == len(digits) {
			return errors.New("a key has more than 32 digits")
		}
		digits[n] = s[i]
		n++
	}
	if n != len(digits) {
		return errors.New("a key has fewer than 32 digits")
	}
	if _, err := hex.Decode(to[:], digits[:]); err != nil {
		return errors.New("a key is not hexadecimal")
	}
	return nil
}

// clone copies a row so that it outlives the call.
func clone(r *cell.Row) cell.Row {
	c := *r
	c.Codes, c.Presumed = slices.Clone(r.Codes), slices.Clone(r.Presumed)
	c.Low, c.High = slices.Clone(r.Low), slices.Clone(r.High)
	c.End, c.Strata = slices.Clone(r.End), slices.Clone(r.Strata)
	return c
}
