// Owner of the standard precompiled header; holds nothing.
