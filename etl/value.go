package etl

import (
	"bytes"
	"slices"
	"strconv"

	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// parseValue reads one cell of a newborn. A cell that cannot be used gives a
// value set aside and the rule; an empty cell is blank, never zero.
func parseValue(spec *record.Spec, cell []byte) (record.Value, string) {
	if len(cell) == 0 {
		return record.Value{}, ""
	}
	v := record.Value{State: record.Recorded}
	var broken string
	switch spec.Type {
	case record.CodeType:
		v.Code, broken = parseCode(spec.Codes, cell)
	case record.YesNoType:
		v.Code, broken = parseCode(record.YesNo, cell)
	case record.MarkType:
		v.Code, broken = parseCode(record.YesNo[:1], cell)
	case record.SetType:
		v.Set, broken = parseSet(spec.Codes, cell)
	case record.UUIDType:
		var ok bool
		if v.ID, ok = source.ParseKey(cell); !ok {
			broken = rule.KeyValueShape
		}
	case record.IntegerType, record.DecimalType:
		v.Number, broken = parseNumber(cell, spec.Type == record.IntegerType, spec.Min, spec.Max)
		if broken == "" && len(spec.OneOf) > 0 && !slices.Contains(spec.OneOf, v.Number) {
			broken = rule.OutOfRange
		}
		if broken == rule.OutOfRange && spec.Unit == "Cel" && v.Number >= 77 && v.Number <= 110 {
			broken = rule.TemperatureFahrenheit
		}
	}
	if broken != "" {
		return record.Value{State: record.SetAside}, broken
	}
	return v, ""
}

func parseCode(codes []string, cell []byte) (uint8, string) {
	for i, c := range codes {
		if c == string(cell) {
			return uint8(i + 1), ""
		}
	}
	return 0, rule.CodeUnknown
}

// parseSet reads codes joined by "+". "none" stands alone.
func parseSet(codes []string, cell []byte) (uint16, string) {
	var set uint16
	for word := range bytes.SplitSeq(cell, []byte{'+'}) {
		code, broken := parseCode(codes, word)
		if broken != "" {
			return 0, broken
		}
		set |= 1 << (code - 1)
	}
	if none := record.CodeOf(codes, "none"); none > 0 {
		if bit := uint16(1) << (none - 1); set&bit != 0 && set != bit {
			return 0, rule.NoneWithOthers
		}
	}
	return set, ""
}

// parseNumber reads a plain number: digits, perhaps a minus before and a point
// between. Exponents, commas, blanks and words are refused; so is a whole
// number written with a point. The number comes back also where it is out of
// range.
func parseNumber(cell []byte, whole bool, least, most float64) (float64, string) {
	digits, points := 0, 0
	for i, c := range cell {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '-' && i == 0:
		case c == '.' && digits > 0 && i+1 < len(cell):
			points++
		default:
			return 0, rule.NotNumber
		}
	}
	if digits == 0 || points > 1 || len(cell) > 32 {
		return 0, rule.NotNumber
	}
	if whole && points > 0 {
		return 0, rule.NotWhole
	}
	x, err := strconv.ParseFloat(string(cell), 64)
	if err != nil {
		return 0, rule.NotNumber
	}
	if x == 0 {
		x = 0 // minus zero is zero: one number, one digest
	}
	if x < least || x > most {
		return x, rule.OutOfRange
	}
	return x, ""
}
