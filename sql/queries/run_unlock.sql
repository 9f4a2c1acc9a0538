select pg_advisory_unlock($1);
