select generation from ledger.counter;
