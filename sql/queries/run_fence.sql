-- The row lock keeps a run that takes over waiting until this transaction ends.
select state from ledger.run where no = $1 for share;
