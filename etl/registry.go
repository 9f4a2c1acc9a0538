package etl

import (
	"context"

	"chestrise/etl/record"
)

// Registry is where the etl loads to. One delivery is one transaction.
type Registry interface {
	// Generation returns the current generation; 0 is an empty registry.
	Generation(ctx context.Context) (record.Generation, error)
	// Begin opens the transaction of a delivery. It returns
	// record.ErrAlreadyLoaded where the same manifest was loaded before and
	// record.ErrSequenceReused where the sequence belongs to other content.
	// Cancelling ctx rolls back what was neither committed nor refused.
	Begin(ctx context.Context, d record.Delivery) (Loading, error)
	// Refuse records a delivery that could not be read at all.
	Refuse(ctx context.Context, why *record.Refusal) error
}

// Loading is one delivery being loaded.
type Loading interface {
	// Fates decides for a batch of stamps, sorted by key and without
	// repetitions, what becomes of each document: Loaded, Revised, Unchanged,
	// Withdrawn or Superseded. The answer has the length of the question.
	Fates(ctx context.Context, in []record.Stamp) ([]record.Fate, error)
	// Put hands over a document whose fate is Loaded, Revised or Withdrawn.
	// The document and the facts may be reused after the call.
	Put(ctx context.Context, fate record.Fate, stamp record.Stamp, doc *record.Document, facts *record.Facts) error
	// Hold records a row kept out.
	Hold(ctx context.Context, h record.HeldRow) error
	// SetAside records a value set aside.
	SetAside(ctx context.Context, u record.Unusable) error
	// Births records one row of births.csv, replacing what was there.
	Births(ctx context.Context, b record.Births) error
	// Commit closes old versions, opens new ones, proves the counts against
	// the rows really written, and returns the generation: a new one, or the
	// one before where nothing changed.
	Commit(ctx context.Context, tallies []record.Tally) (record.Generation, error)
	// Refuse rolls everything back, then records the refusal and its held rows.
	Refuse(ctx context.Context, why *record.Refusal) error
}
