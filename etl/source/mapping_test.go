package source

import (
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const goodMap = `source: ward
title: a list kept on the ward
file: ward.csv
blank: [NA, "-"]
key: {column: no, drawn: true}
constants:
  - {field: unit, value: A, reason: one unit}
columns:
  - {column: month, field: month}
  - {column: weight, field: birth_weight_g, unit: kg}
  - {column: weeks, field: gestation_wk, unit: wk, days: true}
  - {column: temp, field: admission_temp_cel, unit: "[degF]"}
  - {column: sex, field: sex, codes: {f: female, m: male}}
not_taken:
  - {column: name, reason: an identifier}
`

func TestMapIsChecked(t *testing.T) {
	_, problems := ParseMap("ward.yaml", []byte(goodMap))
	require.Empty(t, problems)
	for _, c := range []struct{ from, to, want string }{
		{"title:", "tilte:", "tilte"},
		{"source: ward", "source: the ward", "ward.yaml:1:"},
		{"source: ward", "source: ward\nsource: other", "already defined"},
		{"file: ward.csv", "file: ../ward.csv", "ward.yaml:3:7: map-invalid: file is not"},
		{"key: {column: no, drawn: true}", "key: {drawn: true}", "ward.yaml:5:"},
		{"field: sex,", "field: gender,", `ward.yaml:13:26: map-invalid: field "gender" is not in the contract`},
		{"field: sex,", "field: unit,", `field "unit" is filled twice`},
		{"column: sex,", "column: weeks,", `ward.yaml:13:14: map-invalid: column "weeks" is declared twice`},
		{"unit: kg", "unit: lb", "ward.yaml:10:51: map-invalid: unit lb cannot become g"},
		{", unit: kg", "", `ward.yaml:10:14: map-invalid: column "weight" states no unit; the contract's is g`},
		{"unit: wk, days", "unit: d, days", "days is for gestation_wk in decimal weeks"},
		{"{f: female", "{f: woman", `code "woman" is not in the list of sex: female, male, not-determined`},
		{"name, reason: an identifier", "name", `column "name" is not taken without a reason`},
		{"value: A, reason: one unit", "value: A", `constant "unit" gives no reason`},
		{"  - {column: month, field: month}\n", "", `nothing fills "month"`},
		{"not_taken:", "---\nnot_taken:", "ward.yaml"},
	} {
		text := strings.Replace(goodMap, c.from, c.to, 1)
		require.NotEqual(t, goodMap, text)
		_, problems := ParseMap("ward.yaml", []byte(text))
		require.NotEmpty(t, problems, c.to)
		var all []string
		for _, p := range problems {
			all = append(all, p.Error())
		}
		require.Contains(t, strings.Join(all, "\n"), c.want)
	}
	_, problems = ParseMap("ward.yaml", nil)
	require.NotEmpty(t, problems)
}

func TestWeeksAndDaysRoundDown(t *testing.T) {
	for weeks, want := range map[float64][2]string{
		38.5200004577637: {"38", "3"}, // 38.52 in single precision
		36.9999:          {"36", "6"},
		37:               {"37", "0"},
		39.7999992370605: {"39", "5"},
		38.4285714:       {"38", "3"}, // three sevenths, cut
		38.428:           {"38", "2"},
		24.0:             {"24", "0"},
	} {
		got := weeksAndDays(weeks)
		require.Equal(t, want, [2]string{got[0].text, got[1].text}, weeks)
	}
}

// A Fahrenheit temperature is 32 degrees and five ninths away; a kilogram has a
// thousand grams. Neither leaves the noise of binary fractions.
func TestConversions(t *testing.T) {
	for _, c := range []struct {
		from, to, in, want string
	}{
		{"kg", "g", "2.974", "2974"},
		{"g", "g", "2974.0", "2974"},
		{"[degF]", "Cel", "97.7", "36.5"},
		{"h", "min", "1.5", "90"},
		{"kg", "g", "2,974", "2,974"},
		{"kg", "g", "heavy", "heavy"},
	} {
		l, err := conversion(c.from, c.to)
		require.NoError(t, err)
		x := target{field: 1, source: &Column{}, spec: specOf("admission_temp_cel"), scale: l}
		require.Equal(t, c.want, x.put(nil, []byte(c.in))[0].text)
	}
	_, err := conversion("mmHg", "cm[H2O]")
	require.ErrorContains(t, err, "unit mmHg cannot become cm[H2O]")
}

func TestKeyFile(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "keys")
	random := rand.New(rand.NewSource(1))
	k, err := OpenKeyFile(folder, "ward")
	require.NoError(t, err)
	a, err := k.Key("17", random)
	require.NoError(t, err)
	b, err := k.Key(`18, "b"`, random)
	require.NoError(t, err)
	require.NotEqual(t, a, b)
	parsed, ok := ParseKey([]byte(a.String()))
	require.True(t, ok, "a drawn key is a UUID of version 4")
	require.Equal(t, a, parsed)
	require.NoError(t, k.Save())

	path := filepath.Join(folder, "ward.keys.csv")
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.EqualValues(t, 0o600, info.Mode().Perm())
	info, err = os.Stat(folder)
	require.NoError(t, err)
	require.EqualValues(t, 0o700, info.Mode().Perm())

	k, err = OpenKeyFile(folder, "ward")
	require.NoError(t, err)
	require.Equal(t, 2, k.Len())
	again, err := k.Key(`18, "b"`, nil)
	require.NoError(t, err)
	require.Equal(t, b, again)
	_, err = k.Key("19", nil)
	require.ErrorIs(t, err, ErrKeyFile, "no random numbers, no new key")

	require.NoError(t, os.Chmod(path, 0o644))
	_, err = OpenKeyFile(folder, "ward")
	require.ErrorIs(t, err, ErrKeyFile)
	require.ErrorContains(t, err, "hint: chmod 600")
	require.NotContains(t, err.Error(), a.String())

	require.NoError(t, os.WriteFile(path, []byte("number,key\n17,"+a.String()+"\n18,"+a.String()+"\n"), 0o600))
	require.NoError(t, os.Chmod(path, 0o600))
	_, err = OpenKeyFile(folder, "ward")
	require.ErrorContains(t, err, "line 3", "one key, one number")
	_, err = OpenKeyFile("", "ward")
	require.ErrorIs(t, err, ErrKeyFile)
}
