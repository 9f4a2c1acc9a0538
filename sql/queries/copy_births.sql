copy arrival_births (unit_no, month, gestation_wk, births) from stdin
