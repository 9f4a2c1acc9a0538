package etl_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

type printed struct {
	Resources []struct {
		Name, Path string
		Schema     struct {
			Fields []struct {
				Name, Type, Format, Unit, Description string
				Constraints                           struct {
					Required         bool
					Enum             []any
					Minimum, Maximum *float64
					Pattern          string
				}
			}
		}
	}
	Manifest []struct{ Name string }
	Kinds    []struct {
		Name  string
		Codes []string
	}
	Sections []struct{ Name, Mark string }
	Rules    []struct{ ID, Scope, Description string }
}

// The printed contract holds every column that a delivery is read by, every
// kind, code, section and rule, in the types of Table Schema (datapackage.org,
// version 2: string, number, integer, yearmonth and others).
func TestContractIsWhatIsRead(t *testing.T) {
	var b, again bytes.Buffer
	require.NoError(t, etl.WriteContract(&b))
	require.NoError(t, etl.WriteContract(&again))
	require.Equal(t, b.String(), again.String())
	var c printed
	require.NoError(t, json.Unmarshal(b.Bytes(), &c))

	want := map[string][]string{
		source.NewbornsName: source.NewbornColumns(record.Inside), source.EventsName: source.EventColumns(), source.BirthsName: source.BirthsColumns(record.Inside),
	}
	require.Len(t, c.Resources, 3)
	for _, r := range c.Resources {
		var names []string
		for _, f := range r.Schema.Fields {
			names = append(names, f.Name)
			require.NotEmpty(t, f.Description, f.Name)
			require.Contains(t, []string{"string", "number", "integer", "yearmonth"}, f.Type, f.Name)
			if f.Constraints.Pattern != "" {
				_, err := regexp.Compile(f.Constraints.Pattern)
				require.NoError(t, err)
			}
			bounded := f.Constraints.Minimum != nil || f.Constraints.Enum != nil || f.Name == "value"
			require.True(t, f.Type == "string" || f.Type == "yearmonth" || bounded, "%s has no bounds", f.Name)
		}
		require.Equal(t, want[r.Path], names)
	}
	require.Len(t, c.Kinds, len(record.Kinds()))
	for i, k := range record.Kinds() {
		require.Equal(t, k.String(), c.Kinds[i].Name)
		require.True(t, slices.Equal(record.Events[k].Codes, c.Kinds[i].Codes))
	}
	require.Len(t, c.Sections, len(record.SectionNames)-1)
	for _, s := range c.Sections {
		require.Contains(t, want[source.NewbornsName], s.Mark)
	}
	require.Len(t, c.Rules, len(rule.All))
	seen := map[string]bool{}
	for _, r := range c.Rules {
		require.False(t, seen[r.ID], r.ID)
		seen[r.ID] = true
		require.Regexp(t, `^[a-z0-9]+(-[a-z0-9]+)*$`, r.ID)
		require.Regexp(t, `^(file|document|value|flag)$`, r.Scope)
		require.Regexp(t, `[.)]$`, r.Description)
	}
}

// Every code list is printed as it is read, and every one of its words is read.
func TestEveryWordOfTheContractIsRead(t *testing.T) {
	for f := range record.NumFields {
		spec := &record.Fields[f]
		words := spec.Codes
		switch spec.Type {
		case record.YesNoType:
			words = record.YesNo
		case record.MarkType:
			words = record.YesNo[:1]
		case record.CodeType, record.SetType, record.IntegerType, record.DecimalType, record.UUIDType:
		}
		for i, w := range words {
			m := newMemory(t)
			d := newDrop().newborn(key(1), spec.Name, w)
			out := d.run(t, m)
			require.Equal(t, etl.Loaded, out.State, "%s %s", spec.Name, w)
			v := m.documents[keyOf(t, key(1))].document.Newborn[f]
			require.Equal(t, record.Recorded, v.State, "%s %s", spec.Name, w)
			if spec.Type == record.SetType {
				require.Equal(t, uint16(1)<<i, v.Set)
			} else {
				require.EqualValues(t, i+1, v.Code)
			}
		}
	}
	d := newDrop().newborn(key(1), "begun_before_birth", "yes")
	n := 0
	for _, k := range record.Kinds() {
		spec := &record.Events[k]
		for i := range max(1, len(spec.Codes)) {
			code, value := "", ""
			if len(spec.Codes) > 0 {
				code = spec.Codes[i]
			} else if spec.Value {
				value = fmt.Sprint(spec.Min)
			}
			n++
			d.event(key(1), "", k.String(), code, "value", value, "group", "")
		}
	}
	m := newMemory(t)
	out := d.run(t, m)
	require.Empty(t, out.Tallies[1].SetAside)
	require.Len(t, m.documents[keyOf(t, key(1))].document.Events, n)
}
