savepoint condition;
