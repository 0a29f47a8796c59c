// Does not compile either way: the check has to say so.
// expect: undeclared
int none() { return nothing; }
