package source

import "chestrise/etl/record"

// The names of the files of a delivery.
const (
	NewbornsName = "newborns.csv"
	EventsName   = "events.csv"
	BirthsName   = "births.csv"
)

// The columns of newborns.csv before those of the dictionary; NewbornMonth is
// called year in privacy mode year-only.
const (
	NewbornUnit = iota
	NewbornKey
	NewbornStatus
	NewbornMonth
	NewbornFields // column of record.Field f is NewbornFields + f
)

// The columns of events.csv.
const (
	EventUnit = iota
	EventKey
	EventAt
	EventClock
	EventHow
	EventTimeUnit
	EventKind
	EventCode
	EventValue
	EventGroup
)

// The columns of births.csv.
const (
	BirthsUnit = iota
	BirthsMonth
	BirthsGestation
	BirthsCount
)

// The words of record_status.
const (
	Present   = "present"
	Withdrawn = "withdrawn"
)

func monthColumn(mode record.Privacy) string {
	if mode == record.YearOnly {
		return "year"
	}
	return "month"
}

// NewbornColumns are the columns of newborns.csv, in contract order.
func NewbornColumns(mode record.Privacy) []string {
	names := []string{"unit", "key", "record_status", monthColumn(mode)}
	for _, spec := range record.Fields {
		names = append(names, spec.Name)
	}
	return names
}

// EventColumns are the columns of events.csv, in contract order.
func EventColumns() []string {
	return []string{"unit", "key", "at_s", "clock", "how", "time_unit_s", "kind", "code", "value", "group"}
}

// BirthsColumns are the columns of births.csv, in contract order.
func BirthsColumns(mode record.Privacy) []string {
	return []string{"unit", monthColumn(mode), "gestation_wk", "births"}
}

// ParseKey reads a random key: a UUID of version 4 in the usual hyphenated
// form, in either case.
func ParseKey(cell []byte) (record.Key, bool) {
	var k record.Key
	if len(cell) != 36 {
		return k, false
	}
	out, high := 0, true
	for i, c := range cell {
		if i == 8 || i == 13 || i == 18 || i == 23 {
			if c != '-' {
				return record.Key{}, false
			}
			continue
		}
		var v byte
		switch {
		case c >= '0' && c <= '9':
			v = c - '0'
		case c >= 'a' && c <= 'f':
			v = c - 'a' + 10
		case c >= 'A' && c <= 'F':
			v = c - 'A' + 10
		default:
			return record.Key{}, false
		}
		if high {
			k[out] = v << 4
		} else {
			k[out] |= v
			out++
		}
		high = !high
	}
	// RFC 9562, 5.4: version 4 in the high half of octet 6, variant 10 in octet 8.
	return k, k[6]>>4 == 4 && k[8]>>6 == 2
}
