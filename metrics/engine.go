package metrics

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// Engine runs a catalogue over a registry. All fields are set once; the engine
// keeps no state of its own and may be shared.
type Engine struct {
	Catalogue  measure.Catalogue
	Facts      Facts
	Store      Store
	Ledger     Ledger
	Settings   Settings
	Derivation int16             // version of the derivation of facts
	Names      map[string]string // printed names of units by code; a missing one prints its code
	Log        *slog.Logger
}

// basis is what a cell of the measure rests on today: its definition, with what the
// editions that units adopted set its parameters to, and the derivation of facts.
func (e *Engine) basis(d measure.Definition) cell.Basis {
	b := cell.Basis{Definition: d.Hash, Derivation: e.Derivation}
	var adopted strings.Builder
	for _, p := range d.Parameters {
		if p.Edition {
			for _, c := range e.Settings.Editions[p.Name] {
				fmt.Fprintf(&adopted, "%s %s %s %s\n", p.Name, c.Unit, c.From, measure.Number(c.Value))
			}
		}
	}
	if adopted.Len() > 0 {
		sum := sha256.Sum256([]byte(d.Hash + "\n" + adopted.String()))
		b.Definition = hex.EncodeToString(sum[:])
	}
	return b
}

// Bases are the bases of all measures, by id.
func (e *Engine) Bases() map[string]cell.Basis {
	out := make(map[string]cell.Basis, len(e.Catalogue.Measures))
	for _, d := range e.Catalogue.Measures {
		out[d.ID] = e.basis(d)
	}
	return out
}

func (e *Engine) name(unit string) UnitName {
	if n := e.Names[unit]; n != "" {
		return UnitName{Code: unit, Name: n}
	}
	return UnitName{Code: unit, Name: unit}
}

// months lists every month from a to b, both included.
func months(a, b record.Month) []record.Month {
	var out []record.Month
	for m := a; m <= b; m++ {
		out = append(out, m)
	}
	return out
}
