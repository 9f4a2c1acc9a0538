select no, program, started_at from ledger.run where state = 'running';
