-- Where the registry stands: its generation and its last loaded delivery. A
-- delivery that changed nothing has no generation, so the number is told apart.
select c.generation, coalesce((select max(no) from ledger.delivery where outcome = 'loaded'), 0) as delivery
from ledger.counter c;
