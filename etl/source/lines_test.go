package source

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/rule"
)

func TestCut(t *testing.T) {
	for text, want := range map[string][]string{
		``:                {""},
		`a`:               {"a"},
		`a,b`:             {"a", "b"},
		`a,`:              {"a", ""},
		`,`:               {"", ""},
		`"a,b",c`:         {"a,b", "c"},
		`"a""b"`:          {`a"b`},
		`"",""`:           {"", ""},
		`"a",`:            {"a", ""},
		`\.`:              {`\.`},
		`"a`:              nil,
		`a"b`:             nil,
		`"a"b`:            nil,
		`"a""`:            nil,
		"\x20\"a\"":       nil,
		"x,\"caf\u00e9\"": {"x", "café"},
	} {
		cells, ok := cut([]byte(text), nil)
		require.Equal(t, want != nil, ok, text)
		if ok {
			var got []string
			for _, c := range cells {
				got = append(got, string(c))
			}
			require.Equal(t, want, got, text)
		}
	}
}

// Every line that our reader accepts, the standard library's reader reads the
// same; and nothing makes ours panic or lose a line.
func FuzzLines(f *testing.F) {
	for _, s := range []string{"a,b\n1,2\n", "a\r\n\r\n\"x\"\"y\"\n", "\\.\n", "\"a\nb\",c\n", "a\x00", "\xff\xfe", "a,b", "\n\n", "\"", strings.Repeat("x", 70000) + "\ny\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		l := newLines(bytes.NewReader(text))
		rows, blank := 0, 0
		for line := range bytes.SplitSeq(text, []byte{'\n'}) {
			if len(bytes.TrimSuffix(line, []byte{'\r'})) == 0 {
				blank++
			}
			rows++
		}
		read := 0
		for {
			cells, fault, err := l.next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				require.ErrorIs(t, err, errNUL)
				require.Contains(t, string(text), "\x00")
				return
			}
			read++
			if fault != "" {
				require.Contains(t, []string{rule.RowShape, rule.RowEncoding}, fault)
				continue
			}
			original := text[l.start:l.end]
			in := csv.NewReader(bytes.NewReader(original))
			in.FieldsPerRecord = -1
			want, err := in.Read()
			require.NoError(t, err)
			require.Len(t, cells, len(want))
			for i := range cells {
				require.Equal(t, want[i], string(cells[i]))
			}
		}
		require.Equal(t, rows-blank, read)
		require.EqualValues(t, len(text), l.end)
	})
}

func TestLongLineCostsOneRow(t *testing.T) {
	text := "a,b\n" + strings.Repeat("x", 200000) + "\n1,2\n"
	l := newLines(strings.NewReader(text))
	var faults []string
	for {
		_, fault, err := l.next()
		if err != nil {
			require.ErrorIs(t, err, io.EOF)
			break
		}
		faults = append(faults, fault)
	}
	require.Equal(t, []string{"", rule.RowEncoding, ""}, faults)
	require.Equal(t, 3, l.line)
}
