-- Whoever hears that an issue is planned or published must hear it after a crash too.
set local synchronous_commit = on;
