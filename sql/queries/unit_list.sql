select no, code from registry.unit;
