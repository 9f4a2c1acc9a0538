update ledger.run set state = $2, ended_at = $3 where no = $1 and state = 'running';
