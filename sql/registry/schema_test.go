package registry

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/lib/pq"
	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/sql/localpg/pgtest"
	"chestrise/sql/migrations"
)

// shape is what the schema says of a column.
type shape struct {
	Name    string         `db:"name"`
	Type    string         `db:"type"`
	Labels  pq.StringArray `db:"labels"`
	Comment string         `db:"comment"`
}

func shapes(t *testing.T, r *Registry, table string) map[string]shape {
	t.Helper()
	var all []shape
	require.NoError(t, r.db.SelectContext(t.Context(), &all, `
		select a.attname::text as name, format_type(a.atttypid, a.atttypmod) as type, coalesce(col_description(a.attrelid, a.attnum), '') as comment,
			coalesce((select array_agg(e.enumlabel::text order by e.enumsortorder) from pg_enum e
				where e.enumtypid = coalesce(nullif(y.typelem, 0), y.oid)), '{}') as labels
		from pg_attribute a join pg_type y on y.oid = a.atttypid
		where a.attrelid = $1::regclass and a.attnum > 0 and not a.attisdropped order by a.attnum`, table))
	m := map[string]shape{}
	for _, s := range all {
		m[s.Name] = s
	}
	return m
}

// wantType is the column type that the dictionary asks for; for code lists the
// labels tell more than the name.
func wantType(s *record.Spec, got string) string {
	switch s.Type {
	case record.CodeType:
		return strings.TrimSuffix(got, "[]")
	case record.SetType:
		return strings.TrimSuffix(got, "[]") + "[]"
	case record.YesNoType, record.MarkType:
		return "boolean"
	case record.UUIDType:
		return "uuid"
	case record.IntegerType:
		if s.Max > 1<<15-1 || s.Min < -1<<15 {
			return "integer"
		}
		return "smallint"
	case record.DecimalType:
		return "numeric"
	}
	return "a type that the dictionary does not know"
}

func TestColumnsAreTheDictionary(t *testing.T) {
	r := openDSN(t, freshDSN(t))
	documents, facts, view := shapes(t, r, "registry.document"), shapes(t, r, "registry.facts"), shapes(t, r, "registry.measurable")
	check := func(t *testing.T, have map[string]shape, s *record.Spec) {
		t.Helper()
		c, ok := have[s.Name]
		require.True(t, ok, s.Name)
		require.Equal(t, wantType(s, c.Type), c.Type, s.Name)
		if s.Type == record.CodeType || s.Type == record.SetType {
			require.Equal(t, s.Codes, []string(c.Labels), s.Name)
		} else {
			require.Empty(t, c.Labels, s.Name)
		}
	}
	for f := range record.Fields {
		s := &record.Fields[f]
		check(t, documents, s)
		require.Contains(t, documents[s.Name].Comment, s.Meaning)
	}
	for f := range record.FactSpecs {
		s := &record.FactSpecs[f]
		check(t, facts, s)
		want := *s
		v := view[s.Name]
		if s.Type == record.IntegerType {
			require.Equal(t, "numeric", v.Type, s.Name)
		} else {
			check(t, view, &want)
		}
		if field, passed := record.Passed[record.Fact(f)]; passed {
			require.Equal(t, documents[record.Fields[field].Name].Type, facts[s.Name].Type, "one type for both: %s", s.Name)
		} else {
			require.Contains(t, facts[s.Name].Comment, s.Meaning)
		}
	}
	// Nothing is left over.
	require.Len(t, documents, 9+len(record.Fields)+2+8)
	require.Len(t, facts, 7+len(record.FactSpecs))
	require.Len(t, view, 6+len(record.FactSpecs))
}

func TestEventWordsAreTheDictionary(t *testing.T) {
	r := openDSN(t, freshDSN(t))
	var got []string
	require.NoError(t, r.db.SelectContext(t.Context(), &got, `select kind_no || ' ' || kind || ' ' || code_no || ' ' || coalesce(code, '-')
		from registry.event_word order by kind_no, code_no`))
	var want []string
	for _, k := range record.Kinds() {
		s := record.Events[k]
		if len(s.Codes) == 0 || s.Optional {
			want = append(want, fmt.Sprintf("%d %s 0 -", k, s.Name))
		}
		for i, c := range s.Codes {
			want = append(want, fmt.Sprintf("%d %s %d %s", k, s.Name, i+1, c))
		}
	}
	require.Equal(t, want, got)

	require.NoError(t, r.db.SelectContext(t.Context(), &got, "select list || ' ' || no || ' ' || word from registry.time_word order by list, no"))
	want = nil
	for i, w := range record.Clocks {
		want = append(want, fmt.Sprintf("clock %d %s", i, w))
	}
	for i, w := range record.Hows {
		want = append(want, fmt.Sprintf("how %d %s", i, w))
	}
	require.Equal(t, want, got)
	for list, words := range map[string][]string{
		"coverage_is_known": record.Coverages, "mode_is_known": record.Modes, "privacy_is_known": record.Privacies,
	} {
		def := get[string](t, r, "select pg_get_constraintdef(oid) from pg_constraint where conname = $1", list)
		require.Equal(t, len(words), strings.Count(def, "::text,")+strings.Count(def, "::text]"), def)
		for _, w := range words {
			require.Contains(t, def, "'"+w+"'")
		}
	}
}

func TestUpDownUp(t *testing.T) {
	r := openDSN(t, pgtest.DSN(t))
	ctx := t.Context()
	require.ErrorIs(t, r.Ready(ctx), record.ErrSchemaBehind)
	_, err := r.Lock(ctx)
	require.ErrorIs(t, err, record.ErrSchemaBehind)

	count := func() int {
		return get[int](t, r, "select count(*) from pg_class c join pg_namespace n on n.oid = c.relnamespace where nspname in ('registry', 'ledger', 'measure', 'issue')")
	}
	taken, err := r.Migrate(ctx)
	require.NoError(t, err)
	require.Len(t, taken, 6)
	require.NoError(t, r.Ready(ctx))
	first := count()
	taken, err = r.Migrate(ctx)
	require.NoError(t, err)
	require.Empty(t, taken)

	require.NoError(t, r.Unmake(ctx))
	require.Zero(t, count())
	require.ErrorIs(t, r.Ready(ctx), record.ErrSchemaBehind)
	require.Zero(t, get[int](t, r, "select count(*) from pg_namespace where nspname in ('registry', 'ledger', 'measure', 'issue')"))
	_, err = r.Migrate(ctx)
	require.NoError(t, err)
	require.Equal(t, first, count())

	exec(t, r, "insert into public.schema_version (version_id, is_applied) values (99, true)")
	err = r.Ready(ctx)
	require.ErrorContains(t, err, "newer program")
	require.NotErrorIs(t, err, record.ErrSchemaBehind)
}

// Every named rule is broken once, by name.
func TestRulesRefuse(t *testing.T) {
	r := fresh(t)
	load(t, r, delivery(1), newborn{key: 1})
	exec(t, r, `insert into measure.cell select 1, '2026-03-01', 'm', 0, 0, 0, '{}', '{}', 0, 0, 0, 0, 0, '{}', '{}', '{}', '{}', 0, 'h', 1, 1`)
	exec(t, r, `insert into measure.baseline select 1, 'm', '2026-01-01', 'h', 1, '2025-01-01', '2025-12-01', 'p', 'month', 0.5, 0, 12, 100, false, 'chosen', 1`)
	exec(t, r, `insert into issue.issue values ('dashboard', 'north', '2026-03', 1, 0, 'planned', sha256(''), 1)`)
	exec(t, r, `insert into issue.file values ('dashboard', 'north', '2026-03', 1, 'a.pdf', sha256(''), 1)`)
	exec(t, r, `insert into issue.issued_signal values ('dashboard', 'north', '2026-03', 1, 1, 'm', 'rule', '2026-01-01', '2026-02-01', 'up')`)
	exec(t, r, `insert into ledger.births values (1, 1, '2026-03-01', 39, 5, 1, null)`)

	broken := map[string]string{}
	set := func(table, rule, assign string) { broken[rule] = "update " + table + " set " + assign }
	for f := range record.Fields {
		s := &record.Fields[f]
		switch {
		case s.Type == record.MarkType:
			set("registry.document", s.Name+"_is_yes_or_blank", s.Name+" = false")
		case s.Name == "birth_time_unit_s":
			set("registry.document", "birth_time_unit_s_is_1_5_10_30_or_60", "birth_time_unit_s = 15")
		case s.Type == record.IntegerType || s.Type == record.DecimalType:
			set("registry.document", rangeRule(s), fmt.Sprintf("%s = %v", s.Name, s.Max+1))
			_, err := r.db.ExecContext(t.Context(), fmt.Sprintf("update registry.document set %s = %v", s.Name, s.Min-1))
			require.ErrorContains(t, err, rangeRule(s))
		}
	}
	for f := range record.FactSpecs {
		s := &record.FactSpecs[f]
		if _, passed := record.Passed[record.Fact(f)]; !passed && (s.Type == record.IntegerType || s.Type == record.DecimalType) {
			low, high := fmt.Sprintf("%s = %v", s.Name, s.Min-1), fmt.Sprintf("%s = %v", s.Name, s.Max+1)
			if base, ok := strings.CutSuffix(s.Name, "_lo"); ok {
				high = fmt.Sprintf("%s, %s_hi = %v", low, base, s.Max)
			}
			if base, ok := strings.CutSuffix(s.Name, "_hi"); ok {
				high = fmt.Sprintf("%s, %s_lo = %v", high, base, s.Min)
			}
			set("registry.facts", rangeRule(s), high)
		}
	}
	for name := range factOf {
		if base, ok := strings.CutSuffix(name, "_lo"); ok {
			set("registry.facts", base+"_ends_in_order", base+"_lo = 10, "+base+"_hi = 5")
		}
	}
	set("registry.document", "month_is_a_first_day", "month = '2026-03-02'")
	set("registry.document", "version_ends_after_it_begins", "gen_to = gen_from")
	set("registry.document", "event_arrays_have_one_length", "event_at = '{1}'")
	set("registry.document", "withdrawn_holds_nothing", "withdrawn = true, apgar_5 = 9")
	set("registry.facts", "facts_end_after_they_begin", "gen_to = gen_from")
	set("registry.unit_month", "unit_month_is_a_first_day", "month = '2026-03-02'")
	set("registry.unit", "unit_has_a_code", "code = ''")
	set("registry.source", "source_has_a_code", "code = ''")
	set("registry.event_word", "only_number_zero_has_no_code", "code = null where code_no = 1")
	set("registry.time_word", "list_is_clock_or_how", "list = 'when' where no = 0 and list = 'how'")
	set("ledger.counter", "generations_count_from_zero", "generation = -1")
	set("ledger.counter", "counter_has_one_row", "only_row = false")
	set("ledger.run", "run_state_is_known", "state = 'asleep', ended_at = now()")
	set("ledger.run", "only_a_running_run_has_no_end", "state = 'done'")
	set("ledger.delivery", "manifest_is_a_sha256", "manifest = 'x'")
	set("ledger.delivery", "coverage_is_known", "coverage = 'some'")
	set("ledger.delivery", "mode_is_known", "mode = 'some'")
	set("ledger.delivery", "privacy_is_known", "privacy = 'some'")
	set("ledger.delivery", "outcome_is_known", "outcome = 'lost'")
	set("ledger.delivery", "loaded_is_fully_described", "coverage = null")
	set("ledger.delivery", "limited_data_has_an_agreement", "privacy = 'limited'")
	set("ledger.delivery", "refused_has_a_rule", "refused_rule = 'hash'")
	set("ledger.delivery", "refused_changes_nothing", "outcome = 'refused', refused_rule = 'hash'")
	set("ledger.delivery", "period_is_in_order", "month_from = '2027-01-01'")
	set("ledger.generation", "cause_is_known", "cause = 'whim', delivery_no = null")
	set("ledger.generation", "only_a_delivery_has_a_delivery", "cause = 'purge'")
	set("ledger.file", "rows_add_up", "read = read + 1")
	set("ledger.file", "file_has_a_sha256", "sha256 = ''")
	for f := record.Loaded; f <= record.HeldWith; f++ {
		set("ledger.file", f.String()+"_is_a_count", fmt.Sprintf("%s = -1, read = read - %s - 1", f, f))
	}
	set("ledger.births", "births_is_a_count", "births = -1")
	set("ledger.births", "births_gestation_from_0_to_45", "gestation_wk = 46")
	set("ledger.births", "births_end_after_they_begin", "gen_to = gen_from")
	set("measure.cell", "cell_month_is_a_first_day", "month = '2026-03-02'")
	set("measure.cell", "cell_counts_are_counts", "unknown = -1")
	set("measure.cell", "cell_reasons_are_counts", "excluded = '{1,-1}'")
	set("measure.cell", "cell_items_have_one_length", "item_order = '{1}'")
	set("measure.cell", "cell_items_are_numbers", "item_order = '{1}', item_low = '{NaN}', item_high = '{1}', item_end = '{\"\"}'")
	set("issue.issue", "issue_replaces_an_earlier_one", "replaces = 1")
	set("issue.issue", "issue_state_is_known", "state = 'lost'")
	set("issue.issue", "model_is_a_sha256", "model = ''")
	set("issue.file", "issued_file_has_a_sha256", "sha256 = ''")
	set("issue.file", "issued_file_has_a_size", "bytes = -1")
	set("issue.issued_signal", "signal_months_are_in_order", "month_to = '2025-01-01'")
	baseline := "insert into measure.baseline select 1, 'n', '2026-01-01', 'h', 1, '2025-01-01', '%s', 'p', '%s', %s, %s, 12, 100, false, '%s', 1"
	broken["window_is_in_order"] = fmt.Sprintf(baseline, "2024-01-01", "month", "0.5", "0", "chosen")
	broken["period_is_known"] = fmt.Sprintf(baseline, "2025-12-01", "day", "0.5", "0", "chosen")
	broken["centre_is_a_number"] = fmt.Sprintf(baseline, "2025-12-01", "month", "'NaN'", "0", "chosen")
	broken["spread_is_not_negative"] = fmt.Sprintf(baseline, "2025-12-01", "month", "0.5", "-1", "chosen")
	broken["baseline_has_a_reason"] = fmt.Sprintf(baseline, "2025-12-01", "month", "0.5", "0", "")

	for rule, statement := range broken {
		_, err := r.db.ExecContext(t.Context(), statement)
		require.Equal(t, "23514", state(err), "%s: %v: %v", rule, statement, err)
		require.Equal(t, rule, pqError(err).Constraint, statement)
	}
	var all []string
	require.NoError(t, r.db.SelectContext(t.Context(), &all, `select conname::text from pg_constraint c join pg_namespace n on n.oid = c.connamespace
		where contype = 'c' and nspname in ('registry', 'ledger', 'measure', 'issue') order by 1`))
	for _, rule := range all {
		require.Contains(t, broken, rule, "a rule that nothing breaks here")
	}
	_, err := r.db.ExecContext(t.Context(), "update measure.baseline set centre = 0.6")
	require.Equal(t, "23001", state(err))
	require.True(t, slices.IsSorted(all))
}

// rangeRule is the name of the rule of a number's range.
func rangeRule(s *record.Spec) string {
	name := func(f float64) string {
		return strings.NewReplacer("-", "minus_", ".", "_").Replace(strconv.FormatInt(int64(f), 10))
	}
	return fmt.Sprintf("%s_from_%s_to_%s", s.Name, name(s.Min), name(s.Max))
}

func TestRoles(t *testing.T) {
	_, err := migrations.Roles("Robert'); drop")
	require.Error(t, err)
	sql, err := migrations.Roles("cr_")
	require.NoError(t, err)
	require.Contains(t, sql, "cr_reader")

	r := fresh(t)
	require.Equal(t, "cr_test_reader", r.role)
	load(t, r, delivery(1), newborn{key: 1})
	as := func(role, sql string) string {
		tx, err := r.db.BeginTxx(t.Context(), nil)
		require.NoError(t, err)
		defer func() { _ = tx.Rollback() }()
		_, err = tx.ExecContext(t.Context(), "set local role cr_test_"+role)
		require.NoError(t, err)
		_, err = tx.ExecContext(t.Context(), sql)
		return state(err)
	}
	const denied = "42501"
	require.Empty(t, as("reader", "select * from registry.measurable"))
	require.Equal(t, denied, as("reader", "update registry.facts set month = month"))
	require.Equal(t, denied, as("reader", "select lo_create(0)"))
	require.Equal(t, denied, as("reader", "select pg_advisory_lock(1)"))
	require.Equal(t, denied, as("publisher", "update registry.facts set month = month"))
	require.Equal(t, denied, as("publisher", "delete from measure.cell"))
	require.Equal(t, denied, as("writer", "insert into issue.issue values ('k', 'u', 'p', 1, 0, 'planned', sha256(''), 1)"))
	require.Equal(t, denied, as("writer", "delete from measure.baseline"))
	require.Empty(t, as("writer", "update registry.facts set month = month"))
	require.Empty(t, as("publisher", "insert into issue.issue values ('k', 'u', 'p', 1, 0, 'planned', sha256(''), 1)"))
}
