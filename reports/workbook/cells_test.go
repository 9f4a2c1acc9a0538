package workbook_test

import (
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// readCell is a cell as the file has it, read without the library that wrote
// it, whose reader rounds to fifteen digits.
type readCell struct {
	text   string
	number float64
	kind   string // "s": a shared text, "inlineStr": a text; "": a number or nothing
	has    bool
	format string // the number format's code; empty: general
}

type readBook struct {
	order  []string
	sheets map[string]map[string]readCell
	part   map[string]string // sheet to part
}

var escaped = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// unescape undoes the escapes of texts (ECMA-376, part 1, ST_Xstring).
func unescape(s string) string {
	return escaped.ReplaceAllStringFunc(s, func(e string) string {
		v, err := strconv.ParseUint(e[2:6], 16, 16)
		if err != nil {
			return e
		}
		return string(rune(v))
	})
}

func readCells(t *testing.T, ps map[string][]byte) readBook {
	t.Helper()
	var shared []string
	if b, ok := ps["xl/sharedStrings.xml"]; ok {
		for _, si := range parse(t, b).all("si") {
			s := ""
			var sSb48 strings.Builder
			for _, n := range si.all("t") {
				sSb48.WriteString(n.Text)
			}
			s += sSb48.String()
			shared = append(shared, unescape(s))
		}
	}
	styles := parse(t, ps["xl/styles.xml"])
	codes := map[string]string{}
	for _, n := range styles.all("numFmt") {
		codes[n.attr("numFmtId")] = n.attr("formatCode")
	}
	var formats []string
	for _, xf := range styles.child("cellXfs").all("xf") {
		formats = append(formats, codes[xf.attr("numFmtId")])
	}
	rels := map[string]string{}
	for _, r := range parse(t, ps["xl/_rels/workbook.xml.rels"]).all("Relationship") {
		rels[r.attr("Id")] = r.attr("Target")
	}
	out := readBook{sheets: map[string]map[string]readCell{}, part: map[string]string{}}
	for _, s := range parse(t, ps["xl/workbook.xml"]).all("sheet") {
		target := rels[s.attr("id")]
		if !strings.HasPrefix(target, "/") {
			target = path.Join("xl", target)
		}
		part := strings.TrimPrefix(target, "/")
		cells := map[string]readCell{}
		for _, c := range parse(t, ps[part]).all("row", "c") {
			r := readCell{kind: c.attr("t")}
			if i := c.attr("s"); i != "" {
				k, err := strconv.Atoi(i)
				require.NoError(t, err)
				r.format = formats[k]
			}
			v := c.child("v").Text
			switch {
			case r.kind == "inlineStr":
				for _, n := range c.all("is", "t") {
					r.text += unescape(n.Text)
				}
				r.has = true
			case v == "":
			case r.kind == "s":
				i, err := strconv.Atoi(v)
				require.NoError(t, err)
				r.text, r.has = shared[i], true
			default:
				var err error
				r.number, err = strconv.ParseFloat(v, 64)
				require.NoError(t, err)
				r.has = true
			}
			cells[c.attr("r")] = r
		}
		out.order = append(out.order, s.attr("name"))
		out.sheets[s.attr("name")] = cells
		out.part[s.attr("name")] = part
	}
	return out
}
