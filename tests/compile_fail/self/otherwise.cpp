// Fails for another reason than the one expected: the check has to say so.
// expect: deleted
#ifdef WRONG
int none() { return nothing; }
#endif
