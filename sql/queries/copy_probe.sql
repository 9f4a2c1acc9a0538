create temporary table probe (word text) on commit drop;
