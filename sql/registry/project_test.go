package registry

import (
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"

	"github.com/jmoiron/sqlx"
	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

func condition(text string) cell.Condition {
	return cell.Condition{Text: text, Facts: nil, Params: nil, File: "", Line: 0, Column: 0}
}

// run projects over everything and lists the rows as "unit month order: codes".
func run(t testing.TB, r *Registry, p cell.Projection, s cell.Scope) []string {
	t.Helper()
	var out []string
	require.NoError(t, r.Project(t.Context(), p, s, func(row *cell.Row) error {
		out = append(out, line1(row))
		return nil
	}))
	return out
}

func line1(row *cell.Row) string {
	codes := ""
	var codesSb32 strings.Builder
	for _, c := range row.Codes {
		codesSb32.WriteString(string(rune(c)))
	}
	codes += codesSb32.String()
	return fmt.Sprintf("%s %s %d: %s", row.Unit, row.Month, row.Key[15], codes)
}

// share is a proportion over facts that can be true, false and null.
func share() cell.Projected {
	return cell.Projected{
		Measure: "share", Population: condition("in_population"),
		Exclusions: []cell.Condition{condition("anomaly_hernia"), condition("comfort_only")},
		Met:        condition("apgar_1 >= 7"), Missed: condition("apgar_5 < 7"),
		Exceptions: []cell.Condition{condition("maternal_fever"), condition("briefing")},
		Presumed:   condition("need = 'presumed'"),
	}
}

func timed() cell.Projected {
	return cell.Projected{
		Measure: "timed", Population: condition("in_population"), Exclusions: []cell.Condition{condition("anomaly_hernia")},
		Low: condition("first_inflation_lo"), High: condition("first_inflation_hi"), End: condition("first_end"),
		Open: condition("first_end = 'undecided'"), Exceptions: []cell.Condition{condition("exception_s > 60")},
	}
}

// The truth table of a proportion: each row differs from a met newborn.
func TestThreeValuedLogic(t *testing.T) {
	r := fresh(t)
	met := map[string]string{"in_population": "yes", "anomaly_hernia": "no", "comfort_only": "no", "apgar_1": "8", "apgar_5": "9", "maternal_fever": "no", "briefing": "no"}
	const null = "null"
	for _, c := range []struct {
		change string
		want   cell.Code
	}{
		{"", cell.Met},
		{"in_population=no", cell.Outside},
		{"in_population=null", cell.EligibilityUnknown},
		{"in_population=null anomaly_hernia=yes", cell.EligibilityUnknown}, // population is judged first
		{"in_population=no comfort_only=yes", cell.Outside},
		{"anomaly_hernia=yes", cell.FirstExclusion},
		{"comfort_only=yes", cell.FirstExclusion + 1},
		{"anomaly_hernia=yes comfort_only=yes", cell.FirstExclusion},
		{"anomaly_hernia=null", cell.Met}, // what cannot be judged excludes nobody
		{"anomaly_hernia=null comfort_only=null", cell.Met},
		{"apgar_1=3 apgar_5=5", cell.NotMet},
		{"apgar_1=3 apgar_5=null", cell.Unknown},
		{"apgar_1=null apgar_5=5", cell.NotMet},
		{"apgar_1=null apgar_5=null", cell.Unknown},
		{"apgar_1=null apgar_5=9", cell.Unknown},
		{"apgar_1=3 apgar_5=9", cell.Undecided},
		{"apgar_1=8 apgar_5=null", cell.Met},
		{"apgar_1=8 apgar_5=3", cell.Met},
		{"maternal_fever=yes", cell.Met}, // an exception removes only who is not met
		{"apgar_1=3 apgar_5=5 maternal_fever=yes", cell.FirstException},
		{"apgar_1=3 apgar_5=5 briefing=yes", cell.FirstException + 1},
		{"apgar_1=3 apgar_5=5 maternal_fever=null briefing=yes", cell.FirstException + 1},
		{"apgar_1=3 apgar_5=5 maternal_fever=null", cell.NotMet},
		{"apgar_1=3 apgar_5=9 maternal_fever=yes", cell.Undecided},
		{"apgar_1=null apgar_5=null maternal_fever=yes", cell.Unknown},
		{"apgar_1=3 apgar_5=5 maternal_fever=yes anomaly_hernia=yes", cell.FirstExclusion},
	} {
		t.Run(c.change, func(t *testing.T) {
			row := map[string]string{}
			maps.Copy(row, met)
			for ch := range strings.FieldsSeq(c.change) {
				k, v, _ := strings.Cut(ch, "=")
				if row[k] = v; v == null {
					delete(row, k)
				}
			}
			got, err := r.Examples(t.Context(), cell.Projection{Measures: []cell.Projected{share()}}, []map[string]string{row})
			require.NoError(t, err)
			require.Equal(t, string(rune(c.want)), string(rune(got[0].Codes[0])))
		})
	}
}

func TestMissedIsNotMetWhereAbsent(t *testing.T) {
	r := fresh(t)
	m := cell.Projected{Measure: "m", Population: condition("true"), Met: condition("apgar_1 >= 7")}
	got, err := r.Examples(t.Context(), cell.Projection{Measures: []cell.Projected{m}}, []map[string]string{{"apgar_1": "7"}, {"apgar_1": "6"}, {}})
	require.NoError(t, err)
	require.Equal(t, []cell.Code{cell.Met}, got[0].Codes)
	require.Equal(t, []cell.Code{cell.NotMet}, got[1].Codes)
	require.Equal(t, []cell.Code{cell.Unknown}, got[2].Codes)
}

func TestValues(t *testing.T) {
	r := fresh(t)
	known := map[string]string{"in_population": "yes", "first_inflation_lo": "40.25", "first_inflation_hi": "70", "first_end": "stopped", "gestation_band": "32-33"}
	with := func(more ...string) map[string]string {
		row := map[string]string{}
		maps.Copy(row, known)
		for i := 0; i < len(more); i += 2 {
			if row[more[i]] = more[i+1]; more[i+1] == "" {
				delete(row, more[i])
			}
		}
		return row
	}
	p := cell.Projection{Measures: []cell.Projected{share(), timed()}, Strata: []string{"born_here", "first_end"}}
	rows, err := r.Examples(t.Context(), p, []map[string]string{
		with(), with("first_end", "undecided"), with("first_inflation_hi", ""), with("exception_s", "90"),
		with("in_population", ""), with("need", "presumed", "born_here", "yes"), with("gestation_band", ""),
	})
	require.NoError(t, err)
	codes := ""
	var codesSb143 strings.Builder
	for _, row := range rows {
		codesSb143.WriteString(string(rune(row.Codes[1])))
	}
	codes += codesSb143.String()
	require.Equal(t, "v~uN?vv", codes)
	require.Equal(t, 40.25, rows[0].Low[1])
	require.Equal(t, 70.0, rows[0].High[1])
	require.Equal(t, "stopped", rows[0].End[1])
	require.Equal(t, record.Band32, rows[0].Band)
	require.Zero(t, rows[6].Band)
	require.Zero(t, rows[2].Low[1], "a value only where the code says so")
	require.False(t, rows[0].Presumed[0])
	require.True(t, rows[5].Presumed[0])
	require.Equal(t, []string{"", "stopped"}, rows[0].Strata)
	require.Equal(t, []string{"yes", "stopped"}, rows[5].Strata)
}

func TestExamplesRefuse(t *testing.T) {
	r := fresh(t)
	p := cell.Projection{Measures: []cell.Projected{share()}, Parameters: []cell.Parameter{{Name: "limit", Default: 60}}}
	for row, says := range map[string]string{
		"apgar=7": "apgar is not a fact", ":other=7": "parameter :other is not declared", ":limit=x": "not a number",
		"need=perhaps": "need", "apgar_1=high": "numeric",
	} {
		k, v, _ := strings.Cut(row, "=")
		_, err := r.Examples(t.Context(), p, []map[string]string{{k: v}})
		require.ErrorContains(t, err, says)
	}
}

func TestProjectOrderScopeAndGeneration(t *testing.T) {
	r := fresh(t)
	april := march + 1
	seq := func(n float64) map[record.Fact]record.Value {
		return map[record.Fact]record.Value{record.FactBirthSequence: number64(n), record.FactApgar1: number64(n), record.FactInPopulation: code(record.Yes)}
	}
	load(t, r, delivery(1),
		newborn{key: 1, facts: seq(9)}, newborn{key: 2, facts: seq(7)}, newborn{key: 3}, newborn{key: 4, month: april, facts: seq(1)},
		newborn{key: 5, unit: "east", facts: seq(2)}, newborn{key: 6, month: april, withdrawn: true})
	load(t, r, delivery(2), newborn{key: 2, withdrawn: true}, newborn{key: 1, month: april, facts: seq(8)})

	p := cell.Projection{Measures: []cell.Projected{{Measure: "m", Population: condition("in_population = 'yes'"), Met: condition("apgar_1 >= 8")}}}
	require.Equal(t, []string{"east 2026-03 5: 0", "north 2026-03 3: ?", "north 2026-04 4: 0", "north 2026-04 1: 1"}, run(t, r, p, cell.Scope{}))
	require.Equal(t, []string{"east 2026-03 5: 0", "north 2026-03 2: 0", "north 2026-03 1: 1", "north 2026-03 3: ?", "north 2026-04 4: 0"},
		run(t, r, p, cell.Scope{AsOf: 1}))
	require.Equal(t, run(t, r, p, cell.Scope{}), run(t, r, p, cell.Scope{AsOf: 2}))
	require.Equal(t, []string{"east 2026-03 5: 0"}, run(t, r, p, cell.Scope{Units: []string{"east"}}))
	require.Equal(t, []string{"north 2026-04 4: 0", "north 2026-04 1: 1"}, run(t, r, p, cell.Scope{From: april}))
	require.Equal(t, []string{"north 2026-03 3: ?"}, run(t, r, p, cell.Scope{UnitMonths: []cell.UnitMonth{{Unit: "north", Month: march}}}))
	require.Empty(t, run(t, r, p, cell.Scope{UnitMonths: []cell.UnitMonth{}}))
	require.Empty(t, run(t, r, p, cell.Scope{Units: []string{"nowhere"}}))
	require.ErrorContains(t, r.Project(t.Context(), p, cell.Scope{AsOf: 3}, nil), "generation 3 does not exist")

	stop := errors.New("enough")
	require.ErrorIs(t, r.Project(t.Context(), p, cell.Scope{}, func(*cell.Row) error { return stop }), stop)
	require.NotEmpty(t, run(t, r, p, cell.Scope{}), "the connection is usable after that")
}

func TestParametersByUnitAndMonth(t *testing.T) {
	r := fresh(t)
	apgar := map[record.Fact]record.Value{record.FactApgar1: number64(7)}
	var in []newborn
	for i := range 3 {
		in = append(in, newborn{key: byte(1 + i), month: march + record.Month(i), facts: apgar}, newborn{key: byte(11 + i), unit: "east", month: march + record.Month(i), facts: apgar})
	}
	load(t, r, delivery(1), in...)
	p := cell.Projection{
		Measures: []cell.Projected{{Measure: "m", Population: condition("true"), Met: condition("apgar_1 >= :limit and ':limit' = ':limit'")}},
		Parameters: []cell.Parameter{{Name: "limit", Default: 7, Changes: []cell.Change{
			{Unit: "north", From: march + 2, Value: 6}, {Unit: "north", From: march + 1, Value: 8}, {Unit: "east", From: march - 5, Value: 7.5},
		}}},
	}
	require.Equal(t, []string{
		"east 2026-03 11: 0", "east 2026-04 12: 0", "east 2026-05 13: 0",
		"north 2026-03 1: 1", "north 2026-04 2: 0", "north 2026-05 3: 1",
	}, run(t, r, p, cell.Scope{}))
	rows, err := r.Examples(t.Context(), p, []map[string]string{{"apgar_1": "7"}, {"apgar_1": "7", ":limit": "7.5"}})
	require.NoError(t, err)
	require.Equal(t, []cell.Code{cell.Met}, rows[0].Codes)
	require.Equal(t, []cell.Code{cell.NotMet}, rows[1].Codes)
}

// A condition that fails on someone's facts costs its own measure only.
func TestUncomputable(t *testing.T) {
	r := fresh(t)
	load(t, r, delivery(1), newborn{key: 1, weight: 3000}, newborn{key: 2})
	ok := func(name string) cell.Projected {
		return cell.Projected{Measure: name, Population: condition("true"), Met: condition("birth_weight_g > 2500")}
	}
	bad := ok("overflow")
	bad.Met = condition("birth_weight_g / (birth_weight_g - 3000) > 1")
	p := cell.Projection{Measures: []cell.Projected{ok("a"), ok("b"), bad, ok("c"), ok("d")}}
	var got []string
	err := r.Project(t.Context(), p, cell.Scope{}, func(row *cell.Row) error {
		got = append(got, line1(row))
		return nil
	})
	var failed *cell.Uncomputable
	require.ErrorAs(t, err, &failed)
	require.Len(t, failed.Faults, 1)
	require.Equal(t, "overflow", failed.Faults[0].Measure)
	require.Equal(t, "22012", failed.Faults[0].State)
	require.Equal(t, []string{"north 2026-03 1: 11!11", "north 2026-03 2: uu!uu"}, got)
}

// Products of whole numbers do not overflow, division does not cut off, and a
// decimal is what was written.
func TestNumbersAreNumeric(t *testing.T) {
	r := fresh(t)
	m := func(name, met string) cell.Projected {
		return cell.Projected{Measure: name, Population: condition("true"), Met: condition(met)}
	}
	p := cell.Projection{Measures: []cell.Projected{
		m("product", "birth_sequence * birth_sequence * birth_sequence > 1"), m("half", "apgar_1 / 2 = 3.5"), m("decimal", "admission_temp_cel = 36.1"),
	}}
	load(t, r, delivery(1), newborn{key: 1, facts: map[record.Fact]record.Value{record.FactBirthSequence: number64(99999), record.FactApgar1: number64(7), record.FactAdmissionTempCel: number64(36.1)}})
	require.Equal(t, []string{"north 2026-03 1: 111"}, run(t, r, p, cell.Scope{}))
}

func TestCheck(t *testing.T) {
	r := fresh(t)
	p := cell.Projection{
		Measures: []cell.Projected{
			{
				Measure: "proportion", Population: condition("in_population = 'yes' and need in ('yes', 'presumed')"),
				Exclusions: []cell.Condition{condition("born_here"), condition("apgar_1 >= :limit and first_end = 'finished'")},
				Met:        condition("apgar_1"), Missed: condition("apgar_2 > 5"), Exceptions: []cell.Condition{condition("pg_sleep(10) is null; drop")},
			},
			{
				Measure: "value", Population: condition("true"), Low: condition("born_here"), High: condition("coalesce(temp_min,\n :limit, 'x')"),
				End: condition("first_end"), Open: condition("(:unheard > 1"), Exclusions: []cell.Condition{condition("1/0 = 1")},
			},
		},
		Parameters: []cell.Parameter{{Name: "limit", Default: 1}},
	}
	faults, err := r.Check(t.Context(), p)
	require.NoError(t, err)
	var got []string
	for _, f := range faults {
		got = append(got, fmt.Sprintf("%s, %s, %d, %s: %s", f.Measure, f.Part, f.Rune, f.State, f.Message))
	}
	require.Equal(t, []string{
		`proportion, exclusion 2, 35, 22P02: invalid input value for enum registry.first_end: "finished"`,
		`proportion, met, 1, 42804: argument of IS TRUE must be type boolean, not type numeric`,
		`proportion, missed, 1, 42703: column "apgar_2" does not exist (Perhaps you meant to reference the column "apgar_1" or the column "apgar_5".)`,
		`proportion, exception 1, 0, : a condition cannot hold ';'`,
		`value, exclusion 1, 0, 22012: division by zero`,
		`value, low, 0, 42846: cannot cast type boolean to double precision`,
		`value, high, 29, 22P02: invalid input syntax for type numeric: "x"`,
		`value, open, 0, : a quote or a bracket is not closed`,
	}, got)
	require.Equal(t, "'", string(p.Measures[0].Exclusions[1].Text[faults[0].Rune-1]))
	require.Equal(t, "'", string(p.Measures[1].High.Text[faults[6].Rune-1]))

	p.Measures = []cell.Projected{share(), timed()}
	faults, err = r.Check(t.Context(), p)
	require.NoError(t, err)
	require.Empty(t, faults)
}

// Whatever a condition might get past the guard meets a role that can only read.
func TestConditionsRunWithoutRights(t *testing.T) {
	r := fresh(t)
	require.NoError(t, r.judging(t.Context(), func(tx *sqlx.Tx, _ rawQuery) error {
		require.NoError(t, r.change(t.Context(), tx))
		var who, only, limit string
		require.NoError(t, tx.QueryRow("select current_user, current_setting('transaction_read_only'), current_setting('statement_timeout')").Scan(&who, &only, &limit))
		require.Equal(t, "cr_test_reader on 15min", strings.Join([]string{who, only, limit}, " "))
		_, err := tx.Exec("select lo_create(0)")
		require.Equal(t, "42501", state(err))
		return nil
	}))
	var who string
	require.NoError(t, r.db.Get(&who, "select current_user"))
	require.NotEqual(t, "cr_test_reader", who, "the role ends with the transaction")
}

func TestGuard(t *testing.T) {
	for _, bad := range []string{"a) or (b", "a -- b", "a /* b", "a::text", `"a"`, "$1", "a;b", "'a", "(a", "a\x00", "é", `e'\''`} {
		require.Error(t, guard(bad), bad)
	}
	require.NoError(t, guard("a = ')' and (b <> 'x y' or c between 1.5 and -2)\n"))
}

func TestJudgeAndFind(t *testing.T) {
	r := fresh(t)
	facts := map[record.Fact]record.Value{
		record.FactInPopulation: code(record.Yes), record.FactApgar1: number64(3), record.FactApgar5: number64(5), record.FactMaternalFever: code(record.Yes),
		record.FactNeed: code(record.NeedPresumed),
	}
	load(t, r, delivery(1), newborn{key: 1, facts: facts}, newborn{key: 2, withdrawn: true})
	m := share()
	m.Population.Facts, m.Met.Facts, m.Exclusions[0].Facts = []string{"in_population"}, []string{"apgar_1"}, []string{"anomaly_hernia"}
	m.Presumed.Facts = []string{"need"}
	v := timed()
	row, all, err := r.Judge(t.Context(), cell.Projection{Measures: []cell.Projected{m, v}}, keyOf(1))
	require.NoError(t, err)
	require.Equal(t, []cell.Code{cell.FirstException, cell.Unknown}, row.Codes)
	require.True(t, row.Presumed[0])
	var got []string
	for _, j := range all[0] {
		got = append(got, fmt.Sprintf("%s: %s -> %s %v", j.Part, j.Text, j.Answer, j.Facts))
	}
	require.Equal(t, []string{
		"population: in_population -> true map[in_population:yes]",
		"exclusion 1: anomaly_hernia -> not recorded map[]",
		"exclusion 2: comfort_only -> not recorded map[]",
		"met: apgar_1 >= 7 -> false map[apgar_1:3]",
		"missed: apgar_5 < 7 -> true map[]",
		"presumed: need = 'presumed' -> true map[need:presumed]",
		"exception 1: maternal_fever -> true map[]",
		"exception 2: briefing -> not recorded map[]",
	}, got)
	require.Equal(t, "low", all[1][2].Part)

	_, _, err = r.Judge(t.Context(), cell.Projection{Measures: []cell.Projected{m}}, keyOf(9))
	require.ErrorIs(t, err, record.ErrNoSuchKey)
	_, _, err = r.Judge(t.Context(), cell.Projection{Measures: []cell.Projected{m}}, keyOf(2))
	require.ErrorIs(t, err, record.ErrNoSuchKey)

	found, err := r.Find(t.Context(), "0000-0000")
	require.NoError(t, err)
	require.Len(t, found, 2)
	require.Equal(t, keyOf(1), found[0].Key)
	require.True(t, found[1].Withdrawn)
	found, err = r.Find(t.Context(), strings.ToUpper(keyOf(1).String()))
	require.NoError(t, err)
	require.Len(t, found, 1)
	require.Equal(t, "labour-ward", found[0].Source)
	require.Equal(t, march, found[0].Month)
	found, err = r.Find(t.Context(), "ff")
	require.NoError(t, err)
	require.Empty(t, found)
	_, err = r.Find(t.Context(), "x'--")
	require.Error(t, err)
}
