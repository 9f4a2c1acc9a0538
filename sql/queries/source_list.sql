select no, code from registry.source;
