// How often each clue is seen with each cause: the numbers behind causes.cpp. docs/causes.md says how they
// were made.
#pragma once

#include <array>
#include <cstdint>

#include "camera/cause_clues.h"
#include "camera/cause_kind.h"

namespace rookery::camera {

// Chosen: what builders report most comes first (BOARDS 3: supply, sensor, freezes, radio, viewers),
// flattened.
inline constexpr KindShares kPrior{0.11, 0.05, 0.14, 0.03, 0.03, 0.03, 0.02, 0.02,
                                   0.06, 0.04, 0.02, 0.11, 0.09, 0.03, 0.10, 0.12};

// How many values each clue has, by Clue; the 0 is not counted.
inline constexpr std::array<std::size_t, kClues> kValues{6, 7, 2, 6, 4, 3, 2, 2, 3,
                                                         2, 2, 4, 2, 2, 1, 3, 3, 2};

// Columns: the kinds of CauseKind, in its order. Rows: the values of the clue from 1 on; what is left is
// unused.
//
// Every number but those of `announced` is the share, in percent, of dropouts of that kind in which the clue
// was known and had that value, of 1400 simulated runs with faults and 466 without (`cause_score --fit`), at
// least 2. A fifth of what was seen of each length, and of starts at once and later, is given to those beside
// it: faults do not keep to the ranges of the runs. Simulated, not measured on boards.
inline constexpr std::array<std::array<std::array<std::uint8_t, kKinds>, kMostValues - 1>, kClues> kPercent{{
    // what became of the old connection: went on, reset, closed, cut, given up, given up though kept alive
    {{
        {2, 2, 15, 2, 45, 2, 2, 3, 2, 2, 2, 2, 2, 96, 100, 59},
        {95, 4, 7, 2, 2, 2, 2, 94, 5, 2, 98, 22, 2, 2, 2, 2},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 21, 30, 2, 2, 20},
        {2, 2, 8, 2, 2, 2, 2, 2, 10, 2, 2, 42, 69, 2, 2, 20},
        {3, 95, 65, 4, 2, 2, 97, 2, 82, 99, 2, 12, 2, 2, 2, 2},
        {2, 2, 6, 94, 54, 98, 2, 2, 3, 2, 2, 3, 2, 2, 2, 2},
    }},
    // what new attempts met: none needed, unheard, closed unheard, wrong answer, refused, no answer, no name
    {{
        {99, 14, 30, 32, 32, 2, 2, 98, 33, 9, 2, 2, 2, 2, 78, 99},
        {2, 2, 2, 67, 67, 99, 2, 2, 2, 2, 2, 100, 2, 2, 4, 2},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 67, 2, 4, 2},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 37, 2, 32, 98, 4, 2},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 62, 2, 2, 2, 4, 2},
        {2, 85, 69, 2, 2, 2, 97, 2, 67, 91, 2, 2, 2, 2, 4, 2},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 4, 2},
    }},
    // the board's own clock: back, on
    {{
        {100, 100, 2, 100, 2, 100, 100, 100, 2, 2, 2, 26, 29, 2, 81, 2},
        {2, 2, 99, 2, 100, 2, 2, 2, 100, 100, 99, 74, 71, 99, 19, 100},
    }},
    // answers during the gap: all, all and silence, none, none and then all, all and then none, now and then
    {{
        {4, 2, 3, 2, 16, 2, 2, 2, 2, 2, 2, 2, 2, 2, 29, 71},
        {7, 2, 2, 33, 81, 24, 2, 26, 2, 2, 93, 37, 85, 90, 13, 2},
        {30, 85, 20, 2, 2, 2, 87, 14, 36, 35, 2, 2, 2, 2, 13, 25},
        {57, 13, 31, 2, 2, 2, 11, 58, 63, 65, 2, 48, 2, 2, 29, 2},
        {2, 2, 3, 45, 2, 66, 2, 2, 2, 2, 5, 4, 11, 6, 4, 2},
        {2, 2, 43, 20, 2, 7, 2, 2, 2, 2, 2, 11, 3, 2, 13, 2},
    }},
    // others on its network: alone, some, most, everywhere
    {{
        {88, 89, 82, 95, 97, 95, 94, 93, 4, 96, 95, 96, 95, 97, 2, 95},
        {9, 8, 16, 2, 2, 3, 4, 5, 9, 2, 4, 3, 2, 3, 7, 3},
        {2, 3, 2, 2, 2, 2, 2, 2, 87, 2, 2, 2, 2, 2, 64, 2},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 28, 2},
    }},
    // the link 10 s before: calm, troubled, bad
    {{
        {85, 85, 22, 85, 86, 85, 89, 90, 87, 87, 86, 90, 81, 80, 89, 88},
        {15, 15, 30, 14, 12, 15, 11, 9, 12, 13, 12, 9, 18, 18, 10, 12},
        {2, 2, 49, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2},
    }},
    // our own reading: on time, late
    {{
        {100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 100, 2, 100},
        {2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 99, 2},
    }},
    // after it: no burst, burst
    {{
        {90, 75, 100, 94, 100, 88, 83, 83, 90, 88, 88, 50, 95, 99, 2, 100},
        {10, 25, 2, 6, 2, 13, 17, 17, 10, 13, 13, 50, 5, 2, 99, 2},
    }},
    // broken pictures: none, some, many
    {{
        {72, 72, 100, 100, 99, 13, 99, 99, 100, 100, 100, 100, 34, 2, 100, 100},
        {13, 13, 2, 2, 2, 27, 2, 2, 2, 2, 2, 2, 10, 2, 2, 2},
        {16, 15, 2, 2, 2, 60, 2, 2, 2, 2, 2, 2, 56, 98, 2, 2},
    }},
    // first pictures: settled, ramp
    {{
        {69, 82, 100, 34, 98, 79, 94, 78, 100, 99, 99, 100, 93, 99, 99, 100},
        {31, 18, 2, 66, 2, 21, 6, 22, 2, 2, 2, 2, 7, 2, 2, 2},
    }},
    // the connection's age: fresh, settled
    {{
        {16, 10, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2},
        {84, 90, 98, 100, 99, 100, 99, 98, 100, 100, 100, 99, 100, 100, 100, 100},
    }},
    // length: under 4 s, 15 s, 90 s, longer
    {{
        {23, 3, 13, 7, 19, 2, 2, 27, 7, 3, 2, 2, 3, 4, 26, 73},
        {56, 11, 30, 32, 39, 2, 2, 55, 31, 16, 12, 7, 16, 13, 44, 25},
        {20, 28, 44, 47, 34, 22, 21, 18, 41, 40, 40, 34, 37, 35, 25, 2},
        {2, 59, 13, 14, 8, 76, 76, 2, 21, 42, 47, 60, 44, 48, 4, 2},
    }},
    // picture sizes before: flat, rising
    {{
        {96, 90, 83, 50, 50, 100, 50, 50, 50, 50, 97, 96, 50, 97, 93, 94},
        {4, 10, 17, 50, 50, 2, 50, 50, 50, 50, 3, 4, 50, 3, 7, 6},
    }},
    // where it came back: same, moved
    {{
        {100, 100, 100, 100, 100, 100, 97, 96, 100, 2, 100, 100, 100, 100, 100, 100},
        {2, 2, 2, 2, 2, 2, 3, 4, 2, 100, 2, 2, 2, 2, 2, 2},
    }},
    // announced again (by hand: very likely / likely / weak / no are 90, 60, 30, 3; VISION F, chosen)
    {{
        {60, 60, 30, 60, 3, 60, 60, 60, 30, 30, 30, 3, 10, 3, 3, 3},
    }},
    // started after the last picture: at once, later, after it had answered
    {{
        {77, 24, 74, 2, 33, 2, 21, 79, 60, 33, 60, 80, 2, 60, 71, 33},
        {22, 74, 22, 2, 33, 2, 78, 20, 26, 33, 26, 20, 2, 26, 23, 33},
        {2, 2, 4, 100, 33, 100, 2, 2, 14, 33, 14, 2, 99, 14, 7, 33},
    }},
    // restarts after the same time: uneven, once, even
    {{
        {98, 60, 90, 98, 33, 97, 94, 25, 43, 33, 60, 95, 95, 43, 87, 60},
        {2, 3, 5, 2, 33, 2, 2, 10, 43, 33, 20, 4, 3, 43, 7, 20},
        {2, 37, 5, 2, 33, 3, 4, 66, 14, 33, 20, 2, 2, 14, 7, 20},
    }},
    // time of day of restarts: any, the same
    {{
        {100, 64, 97, 100, 83, 100, 100, 99, 94, 50, 83, 100, 100, 88, 95, 83},
        {2, 36, 3, 2, 17, 2, 2, 2, 6, 50, 17, 2, 2, 13, 5, 17},
    }},
}};

// value: from 1 on.
constexpr double likelihood(std::size_t clue, std::size_t value, std::size_t kind) {
  return kPercent.at(clue).at(value - 1).at(kind) / 100.0;
}

}  // namespace rookery::camera
