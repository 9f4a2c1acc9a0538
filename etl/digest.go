package etl

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"slices"
	"strings"

	"chestrise/etl/record"
)

// alphabetical are the fields by name: an order that survives any change of the
// dictionary's.
var alphabetical = func() []record.Field {
	fields := make([]record.Field, record.NumFields)
	for f := range record.NumFields {
		fields[f] = f
	}
	slices.SortFunc(fields, func(a, b record.Field) int {
		return strings.Compare(record.Fields[a].Name, record.Fields[b].Name)
	})
	return fields
}()

// digester computes digests of documents, reusing its buffer.
type digester struct{ text []byte }

// Digest identifies the content of a document: the first half of the SHA-256 of
// a canonical text made of the words of the dictionary. The order of columns
// and of fields and codes in the dictionary, and later additions to it, do not
// change it. A question that does not apply counts as blank: the etl derived
// that, the source did not send it.
func Digest(d *record.Document) [16]byte { return new(digester).digest(d) }

func (x *digester) digest(d *record.Document) [16]byte {
	x.text = x.text[:0]
	x.word("1") // version of the text
	x.word(d.Unit)
	x.number(float64(d.Month))
	if d.Withdrawn {
		x.word("withdrawn")
	}
	for s, name := range record.SectionNames {
		if d.Damaged.Has(record.Section(s)) {
			x.word("damaged")
			x.word(name)
		}
	}
	for _, f := range alphabetical {
		if v := &d.Newborn[f]; v.State == record.Recorded || v.State == record.SetAside {
			x.value(&record.Fields[f], v)
		}
	}
	for i := range d.Events {
		x.event(&d.Events[i])
	}
	sum := sha256.Sum256(x.text)
	return [16]byte(sum[:16])
}

func (x *digester) value(spec *record.Spec, v *record.Value) {
	x.word(spec.Name)
	if v.State == record.SetAside {
		x.word("set aside")
		return
	}
	switch spec.Type {
	case record.CodeType:
		x.word(spec.Codes[v.Code-1])
	case record.YesNoType, record.MarkType:
		x.word(record.YesNo[v.Code-1])
	case record.SetType:
		for i, c := range spec.Codes {
			if v.Set&(1<<i) != 0 {
				x.word(c)
			}
		}
	case record.UUIDType:
		x.text = append(x.text, v.ID[:]...)
	case record.IntegerType, record.DecimalType:
		x.number(v.Number)
	}
}

func (x *digester) event(e *record.Event) {
	spec := &record.Events[e.Kind]
	x.word("event")
	x.word(spec.Name)
	if e.Timed {
		x.word("at")
		x.number(float64(e.At))
	}
	x.word(e.Clock.String())
	x.word(e.How.String())
	x.text = append(x.text, e.Unit)
	if e.Code > 0 {
		x.word(spec.Codes[e.Code-1])
	}
	if e.Valued {
		x.word("value")
		x.number(e.Value)
	}
	if e.Grouped {
		x.word("group")
		x.number(float64(e.Group))
	}
}

// word appends a text with its length, so that no two texts run together.
func (x *digester) word(s string) {
	x.text = binary.AppendUvarint(x.text, uint64(len(s)))
	x.text = append(x.text, s...)
}

func (x *digester) number(v float64) {
	x.text = binary.BigEndian.AppendUint64(x.text, math.Float64bits(v))
}
