package registry

import (
	"context"
	"fmt"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// batch is how many stamps one statement decides.
const batch = 10_000

var fateOf = map[string]record.Fate{
	"loaded": record.Loaded, "revised": record.Revised, "unchanged": record.Unchanged,
	"withdrawn": record.Withdrawn, "superseded": record.Superseded,
}

// Fates decides for stamps without repetitions what becomes of each document:
// Loaded, Revised, Unchanged, Withdrawn or Superseded. The answer has the length
// of the question. A key that comes again in a later call is a
// *record.Refusal: in one delivery it has one document.
func (l *Loading) Fates(ctx context.Context, in []record.Stamp) ([]record.Fate, error) {
	out := make([]record.Fate, 0, len(in))
	for len(in) > 0 {
		n := min(len(in), batch)
		var err error
		if out, err = l.fates(ctx, in[:n], out); err != nil {
			return nil, err
		}
		in = in[n:]
	}
	return out, nil
}

func (l *Loading) fates(ctx context.Context, in []record.Stamp, out []record.Fate) ([]record.Fate, error) {
	keys, digests, withdrawn := line{fresh: true}, line{fresh: true}, line{fresh: true}
	keys.list(len(in), func(b []byte, i int) []byte { return appendUUID(b, in[i].Key) })
	digests.list(len(in), func(b []byte, i int) []byte { return appendUUID(b, in[i].Digest) })
	withdrawn.list(len(in), func(b []byte, i int) []byte {
		if in[i].Withdrawn {
			return append(b, 't')
		}
		return append(b, 'f')
	})
	rows, err := l.tx.QueryContext(ctx, queries.Text("fates"), l.source,
		string(keys.buf), string(digests.buf), string(withdrawn.buf), l.d.Sequence)
	if err != nil {
		if state(err) == "21000" { // the statement met a key twice
			return nil, l.repeated(in)
		}
		return nil, fmt.Errorf("fates: %w", err)
	}
	defer func() { _ = rows.Close() }()
	for i := 0; rows.Next(); i++ {
		var word string
		var known, hasFacts bool
		if err := rows.Scan(&word, &known, &hasFacts); err != nil {
			return nil, fmt.Errorf("fates: %w", err)
		}
		fate, ok := fateOf[word]
		if !ok {
			return nil, l.repeated(in[i : i+1])
		}
		l.decided[fate]++
		if fate == record.Loaded || fate == record.Revised || fate == record.Withdrawn {
			l.opened++
			if known {
				l.closed++
			}
			if hasFacts {
				l.factsClosed++
			}
		}
		out = append(out, fate)
	}
	if err := rows.Err(); err != nil {
		if state(err) == "21000" {
			return nil, l.repeated(in)
		}
		return nil, fmt.Errorf("fates: %w", err)
	}
	return out, nil
}

// repeated names the key that a delivery holds more than once.
func (l *Loading) repeated(in []record.Stamp) error {
	seen := map[record.Key]bool{}
	key := in[0].Key
	for _, s := range in {
		if seen[s.Key] {
			key = s.Key
		}
		seen[s.Key] = true
	}
	return &record.Refusal{
		Rule: "key-repeated", Message: "key " + key.String() + " comes more than once",
		Hint: "a key names one newborn of the source, whatever the unit", Delivery: l.d,
	}
}
