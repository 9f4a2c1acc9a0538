insert into issue.file (kind, unit, period, no, name, sha256, bytes) values ($1, $2, $3, $4, $5, $6, $7);
