select pg_advisory_lock($1);
