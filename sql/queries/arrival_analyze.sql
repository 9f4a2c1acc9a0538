-- The columns that are joined, and no others: there are a hundred.
analyze arrival (source_no, key, unit_no, month); analyze arrival_facts (source_no, key);
