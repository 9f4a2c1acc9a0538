-- What made the generations after one, by cause.
select cause, count(*) as n from ledger.generation where no > $1 group by cause order by cause;
