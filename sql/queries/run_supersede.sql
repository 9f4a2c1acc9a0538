update ledger.run set state = 'superseded', ended_at = $1 where state = 'running' returning no;
