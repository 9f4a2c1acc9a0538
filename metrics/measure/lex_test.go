package measure

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestLexAccepts(t *testing.T) {
	for _, c := range []struct {
		src    string
		facts  []string
		params []string
	}{
		{"true", nil, nil},
		{"need in ('yes', 'presumed')", []string{"need"}, nil},
		{"need not in ('yes','no') and need is not null", []string{"need"}, nil},
		{"first_inflation_hi <= :limit_s", []string{"first_inflation_hi"}, []string{"limit_s"}},
		{"first_inflation_hi - first_inflation_lo > 2 * :limit_s", []string{"first_inflation_hi", "first_inflation_lo"}, []string{"limit_s"}},
		{"coalesce(admitted, 'no') = 'no'", []string{"admitted"}, nil},
		{"'yes' = tube", []string{"tube"}, nil},
		{"case when temp_min <= 60 then admission_temp_cel between 36.5 and 37.5 end", []string{"temp_min", "admission_temp_cel"}, nil},
		{"abs(least(temp_min, arrived_min) - greatest(temp_min, arrived_min)) < 15", []string{"temp_min", "arrived_min"}, nil},
		{"birth_weight_g / 1000 < 2.5", []string{"birth_weight_g"}, nil},
		{"birth_weight_g / 0.5 > - 3", []string{"birth_weight_g"}, nil},
		{"gestation_wk < 32\nor\n  birth_weight_g < 1500", []string{"gestation_wk", "birth_weight_g"}, nil},
		{"(tube = 'yes') is true", []string{"tube"}, nil},
		{"(gestation_wk) between (20) and (40)", []string{"gestation_wk"}, nil},
		{"gestation_wk - -1 > 0", []string{"gestation_wk"}, nil},
	} {
		t.Run(c.src, func(t *testing.T) {
			facts, params, faults := lex(c.src, []string{"limit_s"})
			if strings.Contains(c.src, "- -1") { // two minus signs apart are arithmetic, not a comment
				require.NotContains(t, c.src, "--")
			}
			require.Empty(t, faults)
			require.Equal(t, c.facts, facts)
			require.Equal(t, c.params, params)
		})
	}
}

func TestLexRefuses(t *testing.T) {
	for _, c := range []struct {
		name, src string
		at        int
		message   string
		hint      string
	}{
		{"empty", "", 0, "condition is empty", "leave the key out where there is no condition"},
		{"blank", " \n ", 0, "condition is empty", "leave the key out where there is no condition"},
		{"unknown fact", "nead = 'yes'", 0, `"nead" is no fact`, `did you mean "need"?`},
		{"unknown fact, nothing near", "zzzzzzzz is null", 0, `"zzzzzzzz" is no fact`, ""},
		{"upper case", "NEED = 'yes'", 0, `"NEED" is not in lower case`, `write "need"`},
		{"function", "pg_sleep(10) is null", 0, `function "pg_sleep" is not allowed`, "the functions are coalesce, least, greatest, abs"},
		{"function with a space", "lo_create (0) = 1", 0, `function "lo_create" is not allowed`, "the functions are coalesce, least, greatest, abs"},
		{"fact as function", "need ('yes')", 5, `"need" is no function`, ""},
		{"function without brackets", "coalesce = 1", 0, `"coalesce" needs its arguments in brackets`, ""},
		{"statement end", "true; drop table facts", 4, `";" is not allowed`, ""},
		{"signs that touch", "gestation_wk <=> 3", 13, `"<=>" is not allowed`, ""},
		{"power", "2**3 = 8", 1, `"**" is not allowed`, ""},
		{"line comment", "true --", 5, `"--" would begin a comment`, "write a space between two minus signs"},
		{"block comment", "true /* x */", 5, `"/*" would begin a comment`, "comments stand outside the condition, behind #"},
		{"cast", "need::text = 'yes'", 4, `":" is not allowed`, "a parameter is a colon and its name"},
		{"quoted name", `"need" = 'yes'`, 0, `"\"" is not allowed`, "a text stands between single quotes, a fact stands alone"},
		{"dollar quote", "need = $$yes$$", 7, `"$" is not allowed`, ""},
		{"concatenation", "need || 'x' = 'yes'", 5, `"|" is not allowed`, ""},
		{"not equal as in C", "need != 'yes'", 5, `"!" is not allowed`, `write "<>"`},
		{"select", "(select 1) = 1", 1, `"select" is no fact`, ""},
		{"tab", "need\t= 'yes'", 4, `"\t" is not allowed`, "indent with spaces"},
		{"backslash in a text", `need = 'y\'`, 9, `"\\" is not allowed in a text`, "a text is a code of the dictionary: lower-case letters, digits and hyphens"},
		{"text without end", "need = 'yes", 7, "text has no end", "close it with '"},
		{"doubled quote", "need = 'y''s'", 10, `"s" follows "y"`, `write "and", "or" or an operator between`},
		{"typed literal", "need 'yes'", 5, `"yes" follows "need"`, `write "and", "or" or an operator between`},
		{"two operands after a bracket", "(need = 'yes') tube = 'yes'", 15, `"tube" follows a bracket`, `write "and", "or" or an operator between`},
		{"wrong code", "need = 'yess'", 7, `"yess" is no code of need`, `did you mean "yes"?`},
		{"wrong code in a list", "need not in ('yes', 'maybe')", 20, `"maybe" is no code of need`, "its codes are yes, no, presumed"},
		{"code of a number", "gestation_wk = 'term'", 15, `"term" is no code of gestation_wk`, "it holds numbers"},
		{"code of another fact", "coalesce(need, 'placed') = 'yes'", 15, `"placed" is no code of a fact in this condition`, ""},
		{"undeclared parameter", "gestation_wk < :limits_s", 15, `parameter "limits_s" is not declared`, `did you mean "limit_s"?`},
		{"exponent", "gestation_wk < 1e5", 15, `"1e5" is no number`, "numbers are digits with at most one decimal point between them"},
		{"two points", "gestation_wk < 1.5.2", 15, `"1.5.2" is no number`, "numbers are digits with at most one decimal point between them"},
		{"point at the end", "gestation_wk < 1.", 15, `"1." is no number`, "numbers are digits with at most one decimal point between them"},
		{"long number", "gestation_wk < 12345678901", 15, "number of 11 digits, 9 are allowed", ""},
		{"division by a fact", "1 / gestation_wk > 0", 2, "division by something that can be 0", "only a number other than 0 may divide"},
		{"division by zero", "gestation_wk / 0.00 > 0", 13, "division by something that can be 0", "only a number other than 0 may divide"},
		{"division by a bracket", "gestation_wk / (1 - 1) > 0", 13, "division by something that can be 0", "only a number other than 0 may divide"},
		{"division by a parameter", "gestation_wk / :limit_s > 0", 13, "division by something that can be 0", "only a number other than 0 may divide"},
		{"closes nothing", "true) or (true", 4, "bracket closes nothing", ""},
		{"not closed", "(true", 0, "bracket is not closed", ""},
		{"letter outside ASCII", "need = 'да'", 8, `"Ð" is not allowed in a text`, "a text is a code of the dictionary: lower-case letters, digits and hyphens"},
		{"sign outside ASCII", "need ≠ 'yes'", 5, `"≠" is not allowed`, ""},
		{"null byte", "need\x00", 4, `"\x00" is not allowed`, ""},
		{"string prefix", "e'yes' = need", 0, `"e" is no fact`, ""},
		{"array", "need = any (1)", 7, `function "any" is not allowed`, "the functions are coalesce, least, greatest, abs"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, faults := lex(c.src, []string{"limit_s"})
			require.NotEmpty(t, faults)
			require.Equal(t, c.message, faults[0].message)
			require.Equal(t, c.at, faults[0].at)
			if c.hint != "" {
				require.Equal(t, c.hint, faults[0].hint)
			}
		})
	}
	t.Run("all at once", func(t *testing.T) {
		_, _, faults := lex("nead = 'yes' and tubes = 'yes' and sleep(1)", nil)
		require.Len(t, faults, 3)
	})
	t.Run("too long", func(t *testing.T) {
		_, _, faults := lex(strings.Repeat("true or ", 600)+"true", nil)
		require.Equal(t, "condition of 4804 characters, 4000 are allowed", faults[0].message)
	})
	t.Run("too deep", func(t *testing.T) {
		_, _, faults := lex(strings.Repeat("(", 41)+"true"+strings.Repeat(")", 41), nil)
		require.Equal(t, "brackets are nested deeper than 40", faults[0].message)
	})
}

// What the lexer lets through holds nothing but the language: this is the whole
// of what may reach a statement.
func safe(t require.TestingT, src string) {
	facts, params, faults := lex(src, []string{"limit_s"})
	if len(faults) > 0 {
		for _, f := range faults {
			require.GreaterOrEqual(t, f.at, 0)
			require.LessOrEqual(t, f.at, len(src))
			require.NotEmpty(t, f.message)
		}
		return
	}
	require.LessOrEqual(t, len(src), maxText)
	for _, bad := range []string{";", "--", "/*", "*/", "::", `"`, `\`, "$", "\x00", "||", "[", "{", "@", "#", "&", "|", "!", "~", "^", "%", "?", "`", "\t", "\r"} {
		require.NotContains(t, src, bad)
	}
	for _, r := range src {
		require.Less(t, r, rune(128))
	}
	depth, quoted := 0, false
	for _, c := range src {
		switch {
		case c == '\'':
			quoted = !quoted
		case quoted:
		case c == '(':
			depth++
		case c == ')':
			depth--
			require.GreaterOrEqual(t, depth, 0)
		}
	}
	require.False(t, quoted)
	require.Zero(t, depth)
	for _, f := range facts {
		require.Contains(t, columns, f)
	}
	for _, p := range params {
		require.Equal(t, "limit_s", p)
	}
	// Every word outside quotes is of the language.
	for i, part := range strings.Split(src, "'") {
		if i%2 == 1 {
			continue
		}
		for _, w := range strings.FieldsFunc(part, func(r rune) bool { return (r < 'a' || r > 'z') && r != '_' && (r < '0' || r > '9') }) {
			if w[0] >= '0' && w[0] <= '9' {
				continue
			}
			require.True(t, columns[w].Name != "" || slices.Contains(keywords, w) || slices.Contains(functions, w) || w == "limit_s", w)
		}
	}
}

func TestLexIsSafe(t *testing.T) {
	piece := rapid.SampledFrom(append(slices.Concat(keywords, functions, operators, columnNames[:8]),
		":limit_s", "'yes'", "'no'", "0", "1", "36.5", " ", "\n", ";", "--", "/*", "::", "pg_sleep", `"`, "'", "$1", "e'x'", "||", "select", "\\"))
	rapid.Check(t, func(t *rapid.T) {
		safe(t, strings.Join(rapid.SliceOfN(piece, 0, 30).Draw(t, "pieces"), rapid.SampledFrom([]string{"", " "}).Draw(t, "between")))
	})
}

func FuzzLex(f *testing.F) {
	for _, s := range []string{"need = 'yes'", "first_inflation_hi <= :limit_s", "case when tube = 'yes' then 1 end", "a;b", "1/0", "'", "((", "need = 'y''s'", "/**/", "**/1", "--", "\x00", "≠"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) { safe(t, s) })
}
