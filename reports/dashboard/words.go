package dashboard

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"chestrise/metrics"
	"chestrise/metrics/spc"
	"chestrise/reports/chart"
)

var (
	englishMonth = regexp.MustCompile(`\b(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)( \d{4}\b| to [A-Z][a-z]{2} \d{4}\b)`)
	pointNumber  = regexp.MustCompile(`\b(\d+)\.(\d+)\b`)
)

// say puts a sentence of metrics, which is written with English months and
// decimal points, into the reader's. It is for sentences with figures, not for
// citations.
func (b *builder) say(text string) string {
	if len(b.locale.Months) == 12 {
		for { // "Mar to Oct 2026" takes a turn for each of its months
			next := englishMonth.ReplaceAllStringFunc(text, func(m string) string {
				i := slices.Index(english, m[:3])
				if b.locale.Months[i] == m[:3] {
					return m
				}
				return b.locale.Months[i] + m[3:]
			})
			if next == text {
				break
			}
			text = next
		}
	}
	if b.locale.DecimalComma {
		text = pointNumber.ReplaceAllString(text, "$1,$2")
	}
	return text
}

// figure is the latest figure without its period: "21 of 33 (64 %)", "57 s".
func (b *builder) figure(m *metrics.MeasureView) string {
	l := &m.Latest
	switch {
	case m.Period == metrics.ByEvent:
		_, text, _ := strings.Cut(b.say(l.Text), ": ")
		return text
	case !l.Has:
		return "no value"
	case m.Axis.Percent:
		return fmt.Sprintf("%d of %d (%s)", l.Met, l.Known, b.locale.Number(chart.Percent, l.Value))
	}
	return b.locale.Number(format(m), l.Value)
}

// sentences are the first words of page one: what signals newly, what has
// stopped, what cannot be judged and why; one sentence where there is none of
// these.
func (b *builder) sentences() []string {
	v := b.view
	if v.Latest == 0 {
		return []string{"No month has closed yet: nothing is judged."}
	}
	var fresh, gone []string
	var held []reason
	for _, c := range v.Changed {
		m := v.Measure(c.Measure)
		switch c.Kind {
		case metrics.Signalled:
			fresh = append(fresh, fmt.Sprintf("%s (%s)", c.Title, b.found(m)))
		case metrics.Stopped:
			gone = append(gone, c.Title)
		case metrics.NotJudged:
			held = because(held, b.say(m.NotJudged), c.Title)
		case metrics.NoChange, metrics.Continues:
		}
	}
	if len(fresh)+len(gone)+len(held) == 0 {
		return []string{b.month(v.Latest) + ": nothing to bring to the meeting."}
	}
	first, second, third := "Nothing is newly signalled.", "No signal has stopped.", "Every chart can be judged."
	if len(fresh) > 0 {
		first = "Newly signalled: " + strings.Join(fresh, "; ") + "."
	}
	if len(gone) > 0 {
		second = "Stopped: " + strings.Join(gone, "; ") + "."
	}
	if len(held) > 0 {
		var parts []string
		for _, r := range held {
			parts = append(parts, r.words())
		}
		third = "Cannot be judged: " + strings.Join(parts, "; ") + "."
	}
	return []string{first, second, third}
}

// reason is why some charts cannot be judged.
type reason struct {
	why    string
	titles []string
}

func because(all []reason, why, title string) []reason {
	for i := range all {
		if all[i].why == why {
			all[i].titles = append(all[i].titles, title)
			return all
		}
	}
	return append(all, reason{why, []string{title}})
}

// namedCharts is how many charts of one reason are named one by one.
const namedCharts = 3

func (r reason) words() string {
	if n := len(r.titles); n > namedCharts {
		return fmt.Sprintf("%d charts, because %s", n, r.why)
	}
	return strings.Join(r.titles, ", ") + ", because " + r.why
}

// found says in a few words what a chart shows that signals.
func (b *builder) found(m *metrics.MeasureView) string {
	for _, s := range m.Signals {
		if !s.Active {
			continue
		}
		words := strings.TrimSuffix(s.Words, ".") + ", " + s.From
		if s.To != s.From {
			words += " to " + s.To
		}
		if title, _, ok := strings.Cut(m.Title, ": "); ok && m.Title != m.Measured {
			words = strings.ToLower(title[:1]) + title[1:]
		}
		verdict := s.Verdict
		for _, x := range m.Signals { // the shift's, where a pattern without a direction comes first
			if x.Active && x.Verdict != spc.Neither {
				verdict = x.Verdict
				break
			}
		}
		switch verdict {
		case spc.Better:
			words += ", favourable"
		case spc.Worse:
			words += ", unfavourable"
		case spc.Neither:
		}
		return b.say(words)
	}
	return ""
}

// brief is the same as a line of page one, also where nothing signals.
func (b *builder) brief(m *metrics.MeasureView) string {
	if m.NotJudged != "" {
		return "Not judged."
	}
	if words := b.found(m); words != "" {
		return upper(words) + "."
	}
	if m.Change.Kind == metrics.Stopped {
		return "No longer signals."
	}
	return "No signal."
}

// continuing is how many charts go on signalling.
func (b *builder) continuing() int {
	n := 0
	for _, c := range b.view.Changed {
		if c.Kind == metrics.Continues {
			n++
		}
	}
	return n
}
