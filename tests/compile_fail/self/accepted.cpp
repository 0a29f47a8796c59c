// Nothing is wrong here: the check has to say so.
// expect: deleted
int none() { return 0; }
