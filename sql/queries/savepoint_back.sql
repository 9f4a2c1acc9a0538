rollback to savepoint condition;
