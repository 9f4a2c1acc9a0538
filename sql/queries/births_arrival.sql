create temporary table arrival_births (unit_no smallint, month date, gestation_wk smallint, births bigint,
    primary key (unit_no, month, gestation_wk)) on commit drop;
