package measure

import (
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/yamlfile"
)

// words checks every text against the codes of the fact it is compared with:
// need = 'yess' would otherwise be silently never true.
func (l *lexer) words() {
	for i, t := range l.toks {
		if t.kind != text {
			continue
		}
		if c, ok := l.compared(i); ok {
			if codes := codesOf(columns[c]); !slices.Contains(codes, t.word) {
				hint := yamlfile.DidYouMean(t.word, codes)
				if len(codes) == 0 {
					hint = "it holds numbers"
				} else if hint == "" {
					hint = "its codes are " + strings.Join(codes, ", ")
				}
				l.refuse(t.at, hint, "%q is no code of %s", t.word, c)
			}
			continue
		}
		var all []string
		for _, u := range l.toks {
			if u.kind == column {
				all = append(all, codesOf(columns[u.word])...)
			}
		}
		if !slices.Contains(all, t.word) {
			l.refuse(t.at, yamlfile.DidYouMean(t.word, all), "%q is no code of a fact in this condition", t.word)
		}
	}
}

// compared finds the column that the text at i is directly compared with.
func (l *lexer) compared(i int) (string, bool) {
	at := func(j int) token {
		if j < 0 || j >= len(l.toks) {
			return token{kind: 0, word: "", at: 0}
		}
		return l.toks[j]
	}
	same := func(t token) bool { return t.kind == operator && (t.word == "=" || t.word == "<>") }
	if same(at(i-1)) && at(i-2).kind == column {
		return at(i - 2).word, true
	}
	if same(at(i+1)) && at(i+2).kind == column {
		return at(i + 2).word, true
	}
	j := i - 1
	for at(j).kind == text || at(j).kind == operator && at(j).word == "," {
		j--
	}
	if at(j).kind == operator && at(j).word == "(" && at(j-1).word == "in" {
		j -= 2
		if at(j).word == "not" {
			j--
		}
		if at(j).kind == column {
			return at(j).word, true
		}
	}
	return "", false
}

// codesOf are the words that a fact's column can hold; none for numbers.
func codesOf(s record.Spec) []string {
	switch s.Type {
	case record.CodeType, record.SetType:
		return s.Codes
	case record.YesNoType:
		return record.YesNo
	case record.MarkType:
		return record.YesNo[:1]
	default:
		return nil
	}
}
