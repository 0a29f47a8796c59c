// For long work that must end in order: whether a person asked for its end.
#pragma once

namespace rookery::cli {

// From now on the first SIGINT, SIGTERM or SIGHUP only sets a flag, so that what is under way takes its
// unfinished work away; a second one ends the program at once. What whoever started it ignores (nohup) stays
// ignored.
void stop_on_signals();

// Whether one came. any-thread.
bool asked_to_stop();

}  // namespace rookery::cli
