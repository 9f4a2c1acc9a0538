set local role {{.}};
