select count(*) from arrival_births;
