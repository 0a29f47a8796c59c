// What is told to people of a dropout: its evidence with numbers, and what to do. Inside of causes.cpp.
#pragma once

#include <string>
#include <vector>

#include "camera/causes.h"

namespace rookery::camera {

std::vector<std::string> evidence_lines(const Evidence& evidence, const RestartPattern& pattern);
// Whether the camera's other dropouts looked like this one's likeliest cause; empty when there are none.
std::string habit_line(const Habit& habit, Cause first);
// One sentence.
std::string remedy_for(Cause cause, const Evidence& evidence, const RestartPattern& pattern);

}  // namespace rookery::camera
