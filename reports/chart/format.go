package chart

import (
	"math"
	"strconv"
	"strings"
)

// Numbers writes numbers as text. Every number that a reader sees comes from
// here, so that one value never appears in two forms.
type Numbers struct{ DecimalComma bool }

// Text writes a value with its unit, with a decimal point:
// "39 %", "57 s", "36.7 °C", "470 births".
func (f Format) Text(v float64) string { return Numbers{}.Text(f, v) }

// Text writes a value with its unit. The digits follow the value:
//
//	Percent  two significant digits: 39 %, 7.1 %, 0.21 %. A share that is
//	         neither none nor all is never printed as 0 % or 100 %:
//	         99.6 %, >99.9 %, <0.01 %.
//	Seconds  whole from 10 s; below, one decimal unless whole
//	Celsius  one decimal
//	Births   whole
//	Count    whole; one decimal for a mean of counts
//	Plain    three significant digits; whole numbers as they are
//
// Halves are rounded away from zero on the value's fifteen decimal digits, as
// a spreadsheet does, so that both show the same. A value that is not finite
// is written as a dash: it stands for no number.
func (n Numbers) Text(f Format, v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	lead, decimals := f.digits(v)
	return n.write(f, v, lead, decimals) + f.unit(v)
}

// bare writes a value beside its axis, where births need not be named again.
func (n Numbers) bare(f Format, v float64) string {
	if f == Births {
		f = Count
		v = math.Round(v)
	}
	return n.Text(f, v)
}

// Tick writes a value of an axis whose ticks are step apart: all ticks of an
// axis have the same number of decimals.
func (n Numbers) Tick(f Format, v, step float64) string {
	if f == Percent {
		step *= 100
	}
	decimals := 0
	for s := step; decimals < 6 && math.Abs(s-math.Round(s)) > 1e-6*math.Max(1, s); s *= 10 {
		decimals++
	}
	if f == Celsius {
		decimals = max(decimals, 1)
	}
	unit := f.unit(v)
	if f == Births {
		unit = ""
	}
	return n.write(f, v, "", decimals) + unit
}

// Pattern is the number format with which a spreadsheet shows the value just
// as Text writes it.
func (f Format) Pattern(v float64) string {
	lead, decimals := f.digits(v)
	digits := "0"
	if decimals > 0 {
		digits += "." + strings.Repeat("0", decimals)
	}
	switch f {
	case Percent:
		if lead != "" {
			return `"` + f.Text(v) + `"`
		}
		digits += `" "%`
	case Seconds, Celsius, Births:
		digits += `"` + f.unit(v) + `"`
	case Plain, Count:
	}
	if v < 0 && !strings.HasPrefix(f.Text(v), "\u2212") {
		return digits + ";" + digits // a trace below zero that rounds to zero
	}
	return digits + ";\u2212" + digits
}

// digits says with how many decimals a value is written, and whether it is
// written as a bound ("<", ">") of what can be written.
func (f Format) digits(v float64) (lead string, decimals int) {
	a := math.Abs(v)
	whole := a == math.Trunc(a)
	switch f {
	case Percent:
		return percentDigits(a)
	case Seconds:
		if a < 10 && !whole {
			return "", 1
		}
	case Celsius:
		return "", 1
	case Births:
	case Count:
		if !whole {
			return "", 1
		}
	case Plain:
		switch {
		case whole || a >= 100:
		case a >= 10:
			return "", 1
		case a >= 1:
			return "", 2
		default:
			return "", min(2-int(math.Floor(math.Log10(a))), 9)
		}
	}
	return "", 0
}

func percentDigits(share float64) (lead string, decimals int) {
	p := share * 100
	switch {
	case p == 0 || share == 1:
		return "", 0
	case p < 0.005:
		return "<", 2
	case p < 0.995:
		return "", 2
	case p < 9.95:
		return "", 1
	case p < 99.5 || p >= 100.5:
		return "", 0
	case p > 99.95 && p < 100:
		return ">", 1
	}
	return "", 1
}

// write gives the digits with sign and decimal mark, without unit.
func (n Numbers) write(f Format, v float64, lead string, decimals int) string {
	shift := 0
	if f == Percent {
		shift = 2
	}
	s := rounded(math.Abs(v), shift, decimals)
	switch lead {
	case "<":
		s = "<0.01"
	case ">":
		s = ">99.9"
	}
	if v < 0 && strings.Trim(s, "0.") != "" {
		s = "\u2212" + s
	}
	if n.DecimalComma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

func (f Format) unit(v float64) string {
	switch f {
	case Percent:
		return " %"
	case Seconds:
		return " s"
	case Celsius:
		return " °C"
	case Births:
		if rounded(math.Abs(v), 0, 0) == "1" {
			return " birth"
		}
		return " births"
	case Plain, Count:
	}
	return ""
}

// rounded writes a non-negative number times 10^shift with so many decimals,
// halves away from zero, from its fifteen significant decimal digits.
func rounded(v float64, shift, decimals int) string {
	sci := strconv.FormatFloat(v, 'e', 14, 64)
	mantissa, exponent, _ := strings.Cut(sci, "e")
	digits := strings.Replace(mantissa, ".", "", 1)
	exp, _ := strconv.Atoi(exponent) // written by FormatFloat: always a number
	point := 1 + exp + shift         // digits before the decimal point
	if point < 0 {
		digits = strings.Repeat("0", -point) + digits
		point = 0
	}
	keep := point + decimals
	for len(digits) <= keep {
		digits += "0"
	}
	up := digits[keep] >= '5'
	d := []byte("0" + digits[:keep])
	for i := len(d) - 1; up && i >= 0; i-- {
		if d[i]++; d[i] <= '9' {
			up = false
		} else {
			d[i] = '0'
		}
	}
	whole := strings.TrimLeft(string(d[:len(d)-decimals]), "0")
	if whole == "" {
		whole = "0"
	}
	if decimals == 0 {
		return whole
	}
	return whole + "." + string(d[len(d)-decimals:])
}
