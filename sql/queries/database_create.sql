create database {{.}} template template0 encoding 'UTF8' lc_collate 'C' lc_ctype 'C';
