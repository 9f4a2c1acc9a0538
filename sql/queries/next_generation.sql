update ledger.counter set generation = generation + 1 returning generation;
