set local synchronous_commit = off;
