select exists (select from pg_database where datname = $1);
