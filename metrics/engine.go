package metrics

import (
	"log/slog"

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

// basis is what a cell of the measure rests on today.
func (e *Engine) basis(d measure.Definition) cell.Basis {
	return cell.Basis{Definition: d.Hash, Derivation: e.Derivation}
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
