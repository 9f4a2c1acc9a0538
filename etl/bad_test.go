package etl_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

var update = flag.Bool("update", false, "write the golden files anew")

// badCase is one kind of bad input, and what it must cost: no more than its
// scope, by its rule.
type badCase struct {
	input string
	rule  string // empty: accepted
	make  func(d *drop)
	at    string                             // newborns.csv:LINE:COLUMN of the held row or set-aside value, or of the problem
	aside record.Field                       // value scope, newborn fields: the field set aside
	check func(*testing.T, *record.Document) // value scope: of the newborn with the bad input
}

// bad is the newborn with the bad input, good another one that must come
// through; the delivery has newborns.csv with bad on line 2 and good on line 3,
// and events.csv with three events of bad from line 2 and one of good.
var bad, good = key(1), key(2)

func badDrop() *drop {
	return newDrop().
		newborn(bad, "gestation_wk", "30", "charted_support", "yes").newborn(good, "gestation_wk", "39").
		event(bad, "40", "support-begun", "ppv", "group", "1").
		event(bad, "60", "heart-rate", "ecg", "value", "80").
		event(bad, "90", "support-ended", "ppv", "group", "1").
		event(good, "10", "breathing", "crying")
}

// put gives the newborn with the bad input a cell.
func put(column, text string) func(*drop) {
	return func(d *drop) { d.newborns[0][column] = text }
}

// cells gives it several.
func cells(pairs ...string) func(*drop) {
	return func(d *drop) {
		for i := 0; i < len(pairs); i += 2 {
			d.newborns[0][pairs[i]] = pairs[i+1]
		}
	}
}

// eventCell gives the nth event a cell.
func eventCell(n int, column, text string) func(*drop) {
	return func(d *drop) { d.events[n][column] = text }
}

// lines replaces a file by its lines, changed.
func lines(name string, change func([]string) []string) func(*drop) {
	return func(d *drop) {
		text := d.newbornText()
		if name == source.EventsName {
			text = d.eventText()
		}
		d.bytes[name] = []byte(strings.Join(change(strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")), "\n") + "\n")
	}
}

func header(name, from, to string) func(*drop) {
	return lines(name, func(l []string) []string { l[0] = strings.Replace(l[0], from, to, 1); return l })
}

func manifest(from, to string) func(*drop) {
	return func(d *drop) { d.text = func(s string) string { return strings.Replace(s, from, to, 1) } }
}

func toUTF16(text []byte) []byte {
	out := []byte{0xFF, 0xFE}
	for _, u := range utf16.Encode([]rune(string(text))) {
		out = append(out, byte(u), byte(u>>8))
	}
	return out
}

func hasEvents(n int) func(*testing.T, *record.Document) {
	return func(t *testing.T, d *record.Document) { require.Len(t, d.Events, n) }
}

func untimed(kind record.Kind) func(*testing.T, *record.Document) {
	return func(t *testing.T, d *record.Document) {
		for _, e := range d.Events {
			if e.Kind == kind {
				require.False(t, e.Timed, "the event stays, its time is unknown")
				return
			}
		}
		t.Fatal("the event is gone")
	}
}

func damaged(s record.Section) func(*testing.T, *record.Document) {
	return func(t *testing.T, d *record.Document) { require.True(t, d.Damaged.Has(s)) }
}

var badCases = []badCase{
	// The file.
	{input: "no manifest", rule: rule.ManifestMissing},
	{input: "manifest that is not JSON", rule: rule.ManifestSyntax, make: manifest(`"mode": "changes",`, `"mode": "changes"`), at: "manifest.json:13:3"},
	{input: "manifest with text after its end", rule: rule.ManifestSyntax, make: func(d *drop) { d.text = func(s string) string { return s + "{}" } }},
	{input: "manifest with an unknown key", rule: rule.ManifestKey, make: manifest(`"mode"`, `"modus": 1, "mode"`), at: "manifest.json:12:3"},
	{input: "manifest that lacks a key", rule: rule.ManifestKey, make: manifest(`"sequence": 1,`, ""), at: "manifest.json:1:1"},
	{input: "manifest with a key twice", rule: rule.ManifestKey, make: manifest(`"sequence": 1,`, `"sequence": 1, "sequence": 1,`), at: "manifest.json:13:18"},
	{input: "manifest with a bad value", rule: rule.ManifestValue, make: manifest(`"changes"`, `"some"`), at: "manifest.json:12:11"},
	{input: "manifest with a fractional sequence", rule: rule.ManifestValue, make: manifest(`"sequence": 1`, `"sequence": 1.5`), at: "manifest.json:13:15"},
	{input: "manifest of a period that ends before it begins", rule: rule.ManifestValue, make: func(d *drop) { d.manifest.To = d.manifest.From - 1 }},
	{input: "privacy mode limited without an agreement", rule: rule.ManifestValue, make: func(d *drop) { d.manifest.Privacy = record.Limited }},
	{input: "manifest that names a file outside its folder", rule: rule.ManifestValue, make: manifest(`"name": "events.csv"`, `"name": "../events.csv"`)},
	{input: "extracted in the future", rule: rule.ManifestValue, make: func(d *drop) { d.manifest.ExtractedAt, d.manifest.Synthetic = noon.AddDate(0, 0, 3), false }},
	{input: "announced file that is not there", rule: rule.FileMissing, make: func(d *drop) {
		d.text = func(s string) string {
			return strings.Replace(s, `"files": [`, `"files": [ {"name": "births.csv", "rows": 1, "sha256": "`+strings.Repeat("0", 64)+`"},`, 1)
		}
	}, at: "births.csv"},
	{input: "manifest that announces no events.csv", rule: rule.FileMissing, make: manifest(`"name": "events.csv"`, `"name": "event.csv"`), at: "manifest.json"},
	{input: "file that the manifest does not announce", rule: rule.FileNotAnnounced, make: manifest(`"name": "events.csv"`, `"name": "event.csv"`), at: "events.csv"},
	{input: "wrong hash", rule: rule.FileHash, make: func(d *drop) {
		d.after[source.NewbornsName] = func(b []byte) []byte { return bytes.Replace(b, []byte(",30,"), []byte(",31,"), 1) }
	}, at: "newborns.csv"},
	{input: "file cut short within a row", rule: rule.FileHash, make: func(d *drop) {
		d.after[source.EventsName] = func(b []byte) []byte { return b[:len(b)-20] }
	}, at: "events.csv"},
	{input: "file cut short by rows", rule: rule.FileRows, make: func(d *drop) {
		d.after[source.EventsName] = func(b []byte) []byte { return b[:bytes.LastIndexByte(b[:len(b)-1], '\n')+1] }
	}, at: "events.csv"},
	{input: "row number that is not the announced", rule: rule.FileRows, make: manifest(`"rows": 2`, `"rows": 3`), at: "newborns.csv"},
	{input: "empty file", rule: rule.FileEmpty, make: func(d *drop) { d.bytes[source.EventsName] = []byte{} }, at: "events.csv"},
	{input: "UTF-16 with a byte order mark", rule: rule.FileEncoding, make: func(d *drop) { d.bytes[source.NewbornsName] = toUTF16(d.newbornText()) }, at: "newborns.csv"},
	{input: "UTF-16 without a byte order mark", rule: rule.FileEncoding, make: func(d *drop) { d.bytes[source.NewbornsName] = toUTF16(d.newbornText())[2:] }, at: "newborns.csv:1"},
	{input: "NUL byte in a row", rule: rule.FileEncoding, make: put("shift", "day\x00"), at: "newborns.csv:2"},
	{input: "carriage returns as the only line ends", rule: rule.FileEncoding, make: func(d *drop) {
		d.bytes[source.NewbornsName] = bytes.ReplaceAll(d.newbornText(), []byte("\n"), []byte("\r"))
	}, at: "newborns.csv:1"},
	{input: "unknown column", rule: rule.ColumnUnknown, make: header(source.NewbornsName, "shift", "shift,mother_name"), at: "newborns.csv:1:7"},
	{input: "missing column", rule: rule.ColumnMissing, make: header(source.EventsName, ",group", ""), at: "events.csv:1"},
	{input: "column twice", rule: rule.ColumnRepeated, make: header(source.EventsName, "group", "group,group"), at: "events.csv:1:11"},
	{input: "newborns out of order", rule: rule.SortOrder, make: lines(source.NewbornsName, func(l []string) []string { return []string{l[0], l[2], l[1]} }), at: "newborns.csv:3"},
	{input: "events out of order of newborns", rule: rule.SortOrder, make: lines(source.EventsName, func(l []string) []string { return []string{l[0], l[4], l[1], l[2], l[3]} }), at: "events.csv:3"},
	{input: "events of a newborn out of order of time", rule: rule.SortOrder, make: lines(source.EventsName, func(l []string) []string { return []string{l[0], l[2], l[1], l[3], l[4]} }), at: "events.csv:3"},
	{input: "event without time before one with a time", rule: rule.SortOrder, make: eventCell(1, "at_s", ""), at: "events.csv:4"},
	{input: "no good row", rule: rule.NoGoodRow, make: func(d *drop) { d.newborns[0]["month"], d.newborns[1]["month"] = "", "May" }, at: "newborns.csv"},

	// The document.
	{input: `lone \. line`, rule: rule.RowShape, make: lines(source.NewbornsName, func(l []string) []string { return append(l, `\.`) }), at: "newborns.csv:4:0"},
	{input: "row with a cell too many", rule: rule.RowShape, make: lines(source.NewbornsName, func(l []string) []string { l[1] += ","; return l }), at: "newborns.csv:2:0"},
	{input: "quote that does not close", rule: rule.RowShape, make: lines(source.NewbornsName, func(l []string) []string { l[1] += `"no end`; return l }), at: "newborns.csv:2:0"},
	{input: "line break inside a cell", rule: rule.RowShape, make: put("shift", "day\nnight"), at: "newborns.csv:2:0"},
	{input: "row that is not UTF-8 (Latin-1)", rule: rule.RowEncoding, make: put("shift", "caf\xe9"), at: "newborns.csv:2:0"},
	{input: "row longer than 65,535 bytes", rule: rule.RowEncoding, make: put("shift", strings.Repeat("x", 70000)), at: "newborns.csv:2:0"},
	{input: "social security number", rule: rule.Identifier, make: put("sex", "123-45-6789"), at: "newborns.csv:2:17"},
	{input: "telephone number", rule: rule.Identifier, make: put("sex", "(555) 010-9999"), at: "newborns.csv:2:17"},
	{input: "e-mail address", rule: rule.Identifier, make: put("sex", "a@b.org"), at: "newborns.csv:2:17"},
	{input: "web address", rule: rule.Identifier, make: put("sex", "https://b.org"), at: "newborns.csv:2:17"},
	{input: "internet address", rule: rule.Identifier, make: put("sex", "10.0.0.12"), at: "newborns.csv:2:17"},
	{input: "date", rule: rule.Identifier, make: put("gestation_basis", "3 Mar 2026"), at: "newborns.csv:2:15"},
	{input: "date in the month column", rule: rule.Identifier, make: put("month", "2026-02-17"), at: "newborns.csv:2:4"},
	{input: "time of day", rule: rule.Identifier, make: put("team_called_s", "03:14"), at: "newborns.csv:2:37"},
	{input: "seven digits in a row", rule: rule.Identifier, make: put("birth_weight_g", "3410000"), at: "newborns.csv:2:16"},
	{input: "identifier in an event row", rule: rule.Identifier, make: eventCell(1, "value", "03:14:10"), at: "events.csv:3:9"},
	{input: "newborn whose event row has an identifier", rule: rule.IdentifierInEvents, make: eventCell(1, "value", "03:14:10"), at: "newborns.csv:2:0"},
	{input: "no key", rule: rule.KeyShape, make: put("key", ""), at: "newborns.csv:2:2"},
	{input: "key made from something (UUID version 3)", rule: rule.KeyShape, make: put("key", strings.Replace(bad, "-4", "-3", 1)), at: "newborns.csv:2:2"},
	{input: "same key with other content", rule: rule.KeyRepeated, make: func(d *drop) {
		d.newborns = append(d.newborns[:1:1], map[string]string{"unit": "A", "key": bad, "record_status": "present", "month": "2026-02", "gestation_wk": "31"}, d.newborns[1])
	}, at: "newborns.csv:2:0"},
	{input: "same key under two units", rule: rule.KeyRepeated, make: func(d *drop) {
		d.newborn(bad, "unit", "B", "gestation_wk", "30", "charted_support", "yes")
	}, at: "newborns.csv:4:0"},
	{input: "unknown record_status", rule: rule.StatusUnknown, make: put("record_status", "deleted"), at: "newborns.csv:2:3"},
	{input: "unit that the manifest does not name", rule: rule.UnitUnknown, make: put("unit", "C"), at: "newborns.csv:2:1"},
	{input: "month that is none", rule: rule.MonthShape, make: put("month", "2026-13"), at: "newborns.csv:2:4"},
	{input: "month outside the period", rule: rule.MonthOutsidePeriod, make: put("month", "2025-12"), at: "newborns.csv:2:4"},
	{input: "month in the future", rule: rule.MonthInFuture, make: func(d *drop) {
		d.manifest.To += 12
		put("month", "2026-05")(d)
	}, at: "newborns.csv:2:4"},
	{input: "order of births in privacy mode year-only", rule: rule.PrivacyMode, make: func(d *drop) {
		yearOnly(d)
		put("birth_sequence", "7")(d)
	}, at: "newborns.csv:2:5"},
	{input: "unknown kind of event", rule: rule.EventKind, make: eventCell(1, "kind", "feeding"), at: "events.csv:3:7"},
	{input: "event without a newborn", rule: rule.EventWithoutNewborn, make: func(d *drop) { d.event(key(3), "5", "breathing", "none") }, at: "events.csv:6:0"},
	{input: "more events than a newborn can have", rule: rule.EventTooMany, make: func(d *drop) {
		last := d.events[3]
		d.events = d.events[:3]
		for i := range 5001 {
			d.event(bad, strconv.Itoa(100+i), "heart-rate", "ecg", "value", "120")
		}
		d.events = append(d.events, last)
	}, at: "newborns.csv:2:0"},
	{input: "bad count in births.csv", rule: rule.BirthsValue, make: func(d *drop) { d.birthsRow("39", "many") }, at: "births.csv:2:4"},
	{input: "two counts for one week in births.csv", rule: rule.BirthsRepeated, make: func(d *drop) { d.birthsRow("39", "5").birthsRow("39", "6") }, at: "births.csv:3:0"},

	// The value.
	{input: "code that is not in the list", rule: rule.CodeUnknown, make: put("sex", "F"), at: "newborns.csv:2:17", aside: record.Sex},
	{input: "wrong type: a word for a number", rule: rule.NotNumber, make: put("apgar_1", "seven"), at: "newborns.csv:2:40", aside: record.Apgar1},
	{input: "number with an exponent", rule: rule.NotNumber, make: put("birth_weight_g", "3e3"), at: "newborns.csv:2:16", aside: record.BirthWeightG},
	{input: "number with a decimal comma", rule: rule.NotNumber, make: put("admission_temp_cel", "36,4"), at: "newborns.csv:2:52", aside: record.AdmissionTempCel},
	{input: "number with a blank around", rule: rule.NotNumber, make: put("apgar_1", " 7"), at: "newborns.csv:2:40", aside: record.Apgar1},
	{input: "fraction where a whole number is asked for", rule: rule.NotWhole, make: put("gestation_wk", "38.5"), at: "newborns.csv:2:13", aside: record.GestationWk},
	{input: "number out of range", rule: rule.OutOfRange, make: put("apgar_5", "11"), at: "newborns.csv:2:41", aside: record.Apgar5},
	{input: "birth weight in kilograms", rule: rule.OutOfRange, make: put("birth_weight_g", "3"), at: "newborns.csv:2:16", aside: record.BirthWeightG},
	{input: "time unit that is none", rule: rule.OutOfRange, make: put("birth_time_unit_s", "15"), at: "newborns.csv:2:18", aside: record.BirthTimeUnitS},
	{input: "sibling key of another shape", rule: rule.KeyValueShape, make: put("birth_set", "twins"), at: "newborns.csv:2:19", aside: record.BirthSet},
	{input: "list that says none and something else", rule: rule.NoneWithOthers, make: put("major_anomaly", "none+heart"), at: "newborns.csv:2:26", aside: record.MajorAnomaly},
	{input: "temperature in degrees Fahrenheit", rule: rule.TemperatureFahrenheit, make: put("admission_temp_cel", "97.9"), at: "newborns.csv:2:52", aside: record.AdmissionTempCel, check: damaged(record.Temperature)},
	{input: "answer to a question that is ruled out", rule: rule.NotApplicable, make: cells("air_leak", "no", "air_leak_min", "50"), at: "newborns.csv:2:62", aside: record.AirLeakMin},
	{input: "birth_sequence twice in a unit's month", rule: rule.BirthSequenceRepeated, make: func(d *drop) { d.newborns[0]["birth_sequence"], d.newborns[1]["birth_sequence"] = "4", "4" }, at: "newborns.csv:2:5", aside: record.BirthSequence},
	{input: "born here and outside", rule: rule.BornHereOutside, make: cells("place", "outside", "born_here", "yes"), at: "newborns.csv:2:8", aside: record.BornHere},
	{input: "died at birth and admitted", rule: rule.DiedThenAdmitted, make: cells("died_place", "birth", "admitted", "yes"), at: "newborns.csv:2:49", aside: record.Admitted},
	{input: "no set-up for the cord, and used", rule: rule.CordHelpWithSetup, make: cells("cord_exception", "help-needed-no-setup", "cord_intact_setup", "used"), at: "newborns.csv:2:44", aside: record.CordException},
	{input: "sibling key in privacy mode year-only", rule: rule.PrivacyBirthSet, make: func(d *drop) {
		yearOnly(d)
		put("birth_set", key(9))(d)
	}, at: "newborns.csv:2:19", aside: record.BirthSet},
	{input: "event code that is not in the list", rule: rule.EventCode, make: eventCell(0, "code", "bagging"), at: "events.csv:2:8", check: func(t *testing.T, d *record.Document) {
		hasEvents(2)(t, d)
		damaged(record.Support)(t, d)
	}},
	{input: "event without the code it needs", rule: rule.EventCode, make: eventCell(0, "code", ""), at: "events.csv:2:8", check: hasEvents(2)},
	{input: "heart rate with neither code nor value", rule: rule.EventEmpty, make: func(d *drop) { d.events[1]["code"], d.events[1]["value"] = "", "" }, at: "events.csv:3:9", check: hasEvents(2)},
	{input: "value of an event that takes none", rule: rule.EventNoValue, make: eventCell(0, "value", "5"), at: "events.csv:2:9", check: hasEvents(3)},
	{input: "heart rate band with a value", rule: rule.EventNoValue, make: eventCell(1, "code", "60-to-99"), at: "events.csv:3:9", check: hasEvents(3)},
	{input: "heart rate out of range", rule: rule.OutOfRange, make: eventCell(1, "value", "450"), at: "events.csv:3:9", check: func(t *testing.T, d *record.Document) {
		require.False(t, d.Events[1].Valued, "no known heart rate")
		damaged(record.Assessments)(t, d)
	}},
	{input: "event time that is no number", rule: rule.NotNumber, make: eventCell(1, "at_s", "1m"), at: "events.csv:3:3", check: untimed(record.HeartRate)},
	{input: "event time before birth", rule: rule.TimeBeforeBirth, make: eventCell(0, "at_s", "-20"), at: "events.csv:2:3", check: untimed(record.SupportBegun)},
	{input: "end before its begin", rule: rule.EndBeforeBegin, make: func(d *drop) {
		d.events[0], d.events[2] = d.events[2], d.events[0]
		d.events[0]["at_s"], d.events[2]["at_s"] = "40", "90"
	}, at: "events.csv:2:3", check: untimed(record.SupportEnded)},
	{input: "oxygen as a fraction", rule: rule.OxygenFraction, make: func(d *drop) { oneEvent(d, "oxygen", "set", "0.3") }, at: "events.csv:3:9", check: hasEvents(3)},
	{input: "oxygen of 2 to 20", rule: rule.OutOfRange, make: func(d *drop) { oneEvent(d, "oxygen", "set", "5") }, at: "events.csv:3:9", check: hasEvents(3)},
	{input: "peak pressure not above end pressure", rule: rule.PressureOrder, make: func(d *drop) { pair(d, "pip", "", "5", "peep", "", "6") }, at: "events.csv:3:9", check: hasEvents(2)},
	{input: "CPAP with a self-inflating bag", rule: rule.CPAPSelfInflating, make: func(d *drop) {
		d.events[0]["code"], d.events[2]["code"] = "cpap", "cpap"
		pair(d, "device", "self-inflating", "", "interface", "mask", "")
	}, at: "events.csv:3:8", check: hasEvents(3)},
	{input: "attempt both placed and failed", rule: rule.OutcomeContradiction, make: func(d *drop) { pair(d, "outcome", "placed", "", "outcome", "failed", "") }, at: "events.csv:3:8", check: hasEvents(2)},
	{input: "dose of ten times the usual", rule: rule.DoseImplausible, make: func(d *drop) { oneEvent(d, "dose", "epinephrine-iv", "0.2") }, at: "events.csv:3:9", check: func(t *testing.T, d *record.Document) {
		require.Equal(t, record.Dose, d.Events[1].Kind, "the drug was given")
		require.False(t, d.Events[1].Valued)
	}},

	// What looks odd and is accepted.
	{input: "UTF-8 byte order mark", make: func(d *drop) { d.bytes[source.NewbornsName] = append([]byte{0xEF, 0xBB, 0xBF}, d.newbornText()...) }},
	{input: "CRLF line ends", make: func(d *drop) {
		d.bytes[source.NewbornsName] = bytes.ReplaceAll(d.newbornText(), []byte("\n"), []byte("\r\n"))
	}},
	{input: "last line without an end", make: func(d *drop) { d.bytes[source.NewbornsName] = bytes.TrimSuffix(d.newbornText(), []byte("\n")) }},
	{input: "blank lines", make: lines(source.NewbornsName, func(l []string) []string { return []string{l[0], "", l[1], "", l[2], "", ""} })},
	{input: "columns in another order", make: func(d *drop) {
		columns := source.EventColumns()
		columns[0], columns[9] = columns[9], columns[0]
		d.bytes[source.EventsName] = table(columns, d.events)
	}},
	{input: "the same row twice", make: func(d *drop) { d.newborns = append(d.newborns[:1:1], d.newborns[0], d.newborns[1]) }},
	{input: "ventilation before complete birth", make: func(d *drop) {
		put("begun_before_birth", "yes")(d)
		eventCell(0, "at_s", "-20")(d)
	}},
	{input: "quoted cells", make: lines(source.EventsName, func(l []string) []string { l[1] = strings.ReplaceAll(l[1], "ppv", `"ppv"`); return l })},
	{input: "key in capital letters", make: func(d *drop) {
		d.newborns[0]["key"] = strings.ToUpper(bad)
	}},
}

func yearOnly(d *drop) {
	d.manifest.Privacy = record.YearOnly
	for _, n := range d.newborns {
		n["year"] = "2026"
	}
	d.manifest.ExtractedAt = noon
}

// oneEvent replaces the second event of the newborn.
func oneEvent(d *drop, kind, code, value string) {
	d.events[1]["kind"], d.events[1]["code"], d.events[1]["value"] = kind, code, value
}

// pair replaces it by two of group 1.
func pair(d *drop, a ...string) {
	first := d.events[1]
	second := map[string]string{}
	maps.Copy(second, first)
	first["kind"], first["code"], first["value"], first["group"] = a[0], a[1], a[2], "1"
	second["kind"], second["code"], second["value"], second["group"] = a[3], a[4], a[5], "1"
	d.events = append(d.events[:2:2], append([]map[string]string{second}, d.events[2:]...)...)
}

func TestBadInput(t *testing.T) {
	for _, c := range badCases {
		t.Run(c.input, func(t *testing.T) {
			m := newMemory(t)
			d := badDrop()
			if c.make != nil {
				c.make(d)
			}
			folder := t.TempDir()
			d.write(t, folder)
			if c.rule == rule.ManifestMissing {
				require.NoError(t, os.Remove(filepath.Join(folder, source.ManifestName)))
			}
			inbox := filepath.Dir(folder)
			s, err := etl.Run(context.Background(), options(inbox, m))
			require.NoError(t, err)
			require.Len(t, s.Deliveries, 1)
			out := s.Deliveries[0]
			for _, tally := range out.Tallies {
				require.Equal(t, tally.Read, tally.Sum(), "the counts add up")
			}
			if c.rule == "" {
				require.Equal(t, etl.Loaded, out.State, out.Problems)
				require.Len(t, m.documents, 2)
				require.Zero(t, s.Rows().ByFate[record.Held])
				require.Empty(t, s.Rows().SetAside)
				return
			}
			r, ok := rule.Of(c.rule)
			require.True(t, ok)
			switch r.Scope {
			case rule.File:
				c.refuses(t, m, &out)
			case rule.Document:
				c.holds(t, m, &out)
			case rule.Value:
				c.setsAside(t, m, &out)
			case rule.Flag:
			}
		})
	}
}

func (c *badCase) refuses(t *testing.T, m *memory, out *etl.Outcome) {
	require.Equal(t, etl.Refused, out.State)
	require.Empty(t, m.documents, "nothing is half loaded")
	require.Len(t, m.refusals, 1)
	require.Contains(t, rules(out.Problems), c.rule)
	for _, p := range out.Problems {
		if p.Rule == c.rule && (c.at == "" || strings.HasPrefix(p.Error(), c.at+": ")) {
			return
		}
	}
	t.Fatalf("no problem at %s: %v", c.at, out.Problems)
}

func (c *badCase) holds(t *testing.T, m *memory, out *etl.Outcome) {
	require.Equal(t, etl.Loaded, out.State, out.Problems)
	require.Contains(t, m.documents, keyOf(t, good), "the others come through")
	var places []string
	for _, h := range m.loadings[0].held {
		if h.Rule == c.rule && !h.With {
			places = append(places, fmt.Sprintf("%s:%d:%d", h.File, h.Line, h.Column))
		}
	}
	require.Contains(t, places, c.at)
	document, loaded := m.documents[keyOf(t, bad)]
	switch {
	case strings.HasPrefix(c.at, source.NewbornsName) && c.input != `lone \. line`:
		require.False(t, loaded, "the newborn is held")
		for _, h := range m.loadings[0].held {
			require.NotEqual(t, keyOf(t, good), h.Key)
		}
	case c.rule == rule.EventKind:
		require.Equal(t, record.AllSections, document.document.Damaged, "nothing counts as charted")
	case c.rule != rule.Identifier:
		require.True(t, loaded)
	}
}

func (c *badCase) setsAside(t *testing.T, m *memory, out *etl.Outcome) {
	require.Equal(t, etl.Loaded, out.State, out.Problems)
	require.Len(t, m.documents, 2, "no newborn is lost")
	document := m.documents[keyOf(t, bad)].document
	var places []string
	for _, u := range m.loadings[0].setAside {
		require.Equal(t, c.rule, u.Rule)
		places = append(places, fmt.Sprintf("%s:%d:%d", u.File, u.Line, u.Column))
	}
	require.Contains(t, places, c.at)
	if strings.HasPrefix(c.at, source.NewbornsName) {
		require.Equal(t, record.SetAside, document.Newborn[c.aside].State)
		require.Zero(t, document.Newborn[c.aside].Number)
	}
	if c.check != nil {
		c.check(t, &document)
	}
	var n int64
	for _, tally := range out.Tallies {
		n += tally.SetAside[c.rule]
	}
	require.EqualValues(t, len(places), n)
}

// The table of bad input in the documentation is this table.
func TestBadInputTable(t *testing.T) {
	var b strings.Builder
	b.WriteString("| bad input | scope | rule | exit code |\n| --- | --- | --- | --- |\n")
	covered := map[string]bool{}
	for _, c := range badCases {
		scope, id, code := "accepted", "", "0"
		if r, ok := rule.Of(c.rule); ok {
			scope, id = r.Scope.String(), "`"+c.rule+"`"
			covered[c.rule] = true
			if r.Scope == rule.File {
				code = "3; 1 where no delivery could be loaded"
			} else {
				code = "0; 3 where held rows pass the configured threshold"
			}
			if r.Scope == rule.Value {
				code = "0"
			}
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", strings.ReplaceAll(c.input, "|", `\|`), scope, id, code)
	}
	// These have tests of their own.
	for _, id := range []string{rule.SequenceReused, rule.FileUnreadable, rule.FileChanged, rule.TooManyHeld, rule.UnitMonthOwned, rule.MapInvalid} {
		covered[id] = true
	}
	for _, r := range rule.All {
		require.True(t, covered[r.ID] || !r.Applied(), "no bad input tests %s", r.ID)
	}
	const golden = "testdata/bad-input.md"
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(golden, []byte(b.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.Equal(t, string(want), b.String(), "go test ./etl -run TestBadInputTable -update")
}
