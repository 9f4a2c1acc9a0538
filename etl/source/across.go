package source

import (
	"bytes"
	"container/heap"
	"errors"
	"io"
	"slices"

	"chestrise/etl/record"
	"chestrise/etl/rule"
)

// acrossUnits finds the keys that stand under more than one unit. Each unit's
// rows are sorted by key, so that walking all units side by side finds them
// without holding the keys in memory. segments are the byte offsets at which
// the units start.
func (d *Delivery) acrossUnits(segments []int64, s *Survey) *record.Problem {
	f := d.files[NewbornsName]
	in, err := d.rewind(NewbornsName)
	if err != nil {
		return &record.Problem{Rule: rule.FileUnreadable, File: NewbornsName, Message: plain(err)}
	}
	head, problems := newTable(NewbornsName, in, NewbornColumns(d.Manifest.Privacy), nil)
	if problems != nil {
		return &problems[0]
	}
	var walks walkers
	for i, from := range segments {
		to := int64(1<<63 - 1)
		if i+1 < len(segments) {
			to = segments[i+1]
		}
		w := &walker{units: d.Manifest.Units, table: &table{
			name: NewbornsName, width: head.width, from: head.from, out: make([][]byte, len(head.from)),
			lines: newLines(io.NewSectionReader(f, from, to-from)),
		}}
		if err := w.next(); err == nil {
			walks = append(walks, w)
		} else if !errors.Is(err, io.EOF) {
			return &record.Problem{Rule: rule.FileUnreadable, File: NewbornsName, Message: plain(err)}
		}
	}
	heap.Init(&walks)
	for last := (*record.Key)(nil); len(walks) > 0; {
		w := walks[0]
		key := w.key
		if last != nil && *last == key {
			s.repeatedKeys[key] = true
		}
		last = &key
		switch err := w.next(); {
		case errors.Is(err, io.EOF):
			heap.Pop(&walks)
		case err != nil:
			return &record.Problem{Rule: rule.FileUnreadable, File: NewbornsName, Message: plain(err)}
		default:
			heap.Fix(&walks, 0)
		}
	}
	return nil
}

// walker walks over the distinct keys of one unit.
type walker struct {
	table *table
	units []string
	key   record.Key
	any   bool
}

func (w *walker) next() error {
	for {
		row, err := w.table.Next()
		if err != nil {
			return err
		}
		if row.Fault != "" || !slices.Contains(w.units, string(row.Cells[NewbornUnit])) {
			continue
		}
		key, ok := ParseKey(row.Cells[NewbornKey])
		if !ok || w.any && key == w.key {
			continue
		}
		w.key, w.any = key, true
		return nil
	}
}

type walkers []*walker

func (w walkers) Len() int           { return len(w) }
func (w walkers) Less(i, j int) bool { return bytes.Compare(w[i].key[:], w[j].key[:]) < 0 }
func (w walkers) Swap(i, j int)      { w[i], w[j] = w[j], w[i] }
func (w *walkers) Push(x any)        { *w = append(*w, x.(*walker)) }
func (w *walkers) Pop() any {
	last := (*w)[len(*w)-1]
	*w = (*w)[:len(*w)-1]
	return last
}
