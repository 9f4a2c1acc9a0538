package workbook

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// cellUnits is the most UTF-16 units that a spreadsheet cell holds.
const cellUnits = 32767

// clean makes s fit for a cell or a chart: valid UTF-8, line breaks as \n, no
// control characters and no more than a cell holds. What is cut ends in "…".
func clean(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.ReplaceAll(s, "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\r':
			return '\n'
		case r == '\t':
			return ' '
		case r < 0x20, r >= 0x7f && r < 0xa0:
			return '\uFFFD'
		case r == 0xFFFE, r == 0xFFFF: // not characters of XML
			return '\uFFFD'
		}
		return r
	}, s)
	return cut(s, cellUnits)
}

// oneLine is clean without line breaks and repeated blanks.
func oneLine(s string) string { return strings.Join(strings.Fields(clean(s)), " ") }

// cut shortens s to at most units UTF-16 units, the last one then being "…".
func cut(s string, units int) string {
	if utf16Len(s) <= units {
		return s
	}
	n, end := 0, 0
	for i, r := range s {
		n += utf16Width(r)
		if n > units-1 {
			break
		}
		end = i + utf8.RuneLen(r)
	}
	return s[:end] + "…"
}

func utf16Width(r rune) int {
	if r > 0xFFFF {
		return 2
	}
	return 1
}

func utf16Len(s string) int {
	n := 0
	for _, r := range s {
		n += utf16Width(r)
	}
	return n
}

var escapeLike = regexp.MustCompile(`^x[0-9A-Fa-f]{4}_`)

// escape protects text that looks like the file format's own escapes:
// "_x0041_" would be read back as "A". Every underscore that opens such a
// sequence is itself escaped, also in overlapping ones.
func escape(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	var b strings.Builder
	for i := range len(s) {
		if s[i] == '_' && escapeLike.MatchString(s[i+1:]) {
			b.WriteString("_x005F_")
			continue
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// advance holds the widths of the printable ASCII characters of Arial (the
// same as those of Helvetica and Liberation Sans) in thousandths of the size.
var advance = [95]uint16{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
}

// width is the width of one line of text in pixels of 1/96 inch at a size in
// points. Characters outside ASCII are estimated, rather too wide than too
// narrow.
func width(s string, pt float64, bold bool) float64 {
	var w float64
	for _, r := range s {
		switch {
		case r >= ' ' && r <= '~':
			w += float64(advance[r-' '])
		case r > 0x2E7F: // ideographs, pictures
			w += 1200
		case r == '…' || r == '—' || r == '←' || r == '→':
			w += 1000
		default:
			w += 600
		}
	}
	if bold {
		w *= 1.07
	}
	return w / 1000 * pt * 96 / 72
}

// wrap breaks s into lines of at most px pixels, at blanks where it can and
// inside a word where it must. There is always at least one line.
func wrap(s string, px, pt float64, bold bool) []string {
	var lines []string
	for paragraph := range strings.SplitSeq(s, "\n") {
		line := ""
		for word := range strings.FieldsSeq(paragraph) {
			joined := word
			if line != "" {
				joined = line + " " + word
			}
			if width(joined, pt, bold) <= px {
				line = joined
				continue
			}
			if line != "" {
				lines = append(lines, line)
			}
			for width(word, pt, bold) > px {
				n := fits(word, px, pt, bold)
				lines = append(lines, word[:n])
				word = word[n:]
			}
			line = word
		}
		lines = append(lines, line)
	}
	return lines
}

// fits is the number of bytes of s that fit into px pixels, at least one
// character.
func fits(s string, px, pt float64, bold bool) int {
	end := 0
	for i, r := range s {
		next := i + utf8.RuneLen(r)
		if end > 0 && width(s[:next], pt, bold) > px {
			break
		}
		end = next
	}
	return end
}

// wrapTo is wrap with at most n lines; what is cut ends in "…".
func wrapTo(s string, n int, px, pt float64, bold bool) []string {
	lines := wrap(oneLine(s), px, pt, bold)
	if len(lines) <= n {
		return lines
	}
	lines = lines[:n]
	last := lines[n-1]
	for last != "" && width(last+"…", pt, bold) > px {
		_, size := utf8.DecodeLastRuneInString(last)
		last = strings.TrimRight(last[:len(last)-size], " ")
	}
	lines[n-1] = last + "…"
	return lines
}

// widest is the width of the widest line.
func widest(lines []string, pt float64, bold bool) float64 {
	var w float64
	for _, l := range lines {
		w = max(w, width(l, pt, bold))
	}
	return w
}
