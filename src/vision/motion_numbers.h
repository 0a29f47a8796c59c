// Inner: the numbers of the motion detector, each with its reason. Times in seconds, so that the rate of the
// pictures does not matter.
#pragma once

#include <cstddef>
#include <cstdint>

namespace rookery::vision::motion {

// Learning.
inline constexpr double kUsualStep_s = 0.2;
inline constexpr double kLongestStep_s = 1.0;
inline constexpr double kFirstLearning_s = 3;  // of a camera that nothing is known of: no motion
inline constexpr double kRelearn_s = 2.4;      // after a lamp or another view
inline constexpr double kMostRelearn_s =
    6;                                 // … while it still changes: head lights that pass, tubes that start
inline constexpr double kBlind_s = 1;  // after a lamp, at least: nothing is looked for
inline constexpr double kUnsettled = 0.15;  // of the picture
inline constexpr double kRelearnTau_s = 0.45;
inline constexpr double kBackgroundTau_s = 6.4;
inline constexpr double kThingTau_s = 100;   // under what moves
inline constexpr double kAtRestTau_s = 1.5;  // under what has come to rest: it belongs to the picture now
inline constexpr float kAtRest_s = 4;
inline constexpr float kLongRest = 60;
inline constexpr double kRecentTau_s = 0.5;
inline constexpr double kExposureTau_s = 20;

// Thresholds, grey levels. The noise is each cell's 90th percentile of |difference|: nine steps up for one
// down. Under what counts as moving it rises more slowly.
inline constexpr float kFirstNoise = 2;
inline constexpr float kLeastNoise = 0.25F;
inline constexpr float kMostNoise = 40;
inline constexpr double kNoiseStep_s = 0.1;
inline constexpr float kNoiseRise = 0.036F;
inline constexpr float kNoiseUnderThings = 0.25F;
inline constexpr float kNoiseFall = 0.004F;
inline constexpr double kNoiseLearning_s = 60;  // at first it is learned faster
inline constexpr float kFirstNoiseRise = 0.27F;
inline constexpr double kLeastThreshold = 2;
inline constexpr double kQuantumMargin = 1.5;
inline constexpr float kMidGrey = 128;
inline constexpr int kBandPasses = 3;
inline constexpr float kHalfWeight = 16;           // 4 grey levels from the band halve a cell's weight
inline constexpr float kNoBand = 0.5F / kMidGrey;  // half a grey level
inline constexpr float kBandRow = 0.6F;            // of a row's cells must be explained
inline constexpr unsigned kSpreadEvery = 16;       // pictures
inline constexpr unsigned kQuantumEvery = 32;      // pictures: tables change seldom
// A change between pictures is live from this share of the threshold on.
inline constexpr float kLiveShare = 0.6F;

// Cells.
inline constexpr int kVotes = 4;  // of 3×3, itself included
inline constexpr int kMostActivity = 6;
inline constexpr int kActive = 2;
inline constexpr double kFullShare = 0.25;
inline constexpr float kMostAge_s = 60;

// Restless cells: where something has been moving for this share of the last minutes, and beside them,
// nothing happens any more: a print head, a fan, a flag. Each cell's own noise cannot know that the head will
// come a row higher with the next layer.
inline constexpr double kRestlessTau_s = 300;
inline constexpr float kRestless = 0.15F;
inline constexpr float kMoving_s = 0.5F;
inline constexpr int kRestlessReach = 3;  // cells
// Of a region that is joined with restless cells so much must be elsewhere: a hand, not the head's other
// side.
inline constexpr double kFreshShare = 0.5;
// … and as much as usually moves there at once.
inline constexpr double kUsualShare = 1;
inline constexpr double kUsualTau_s = 300;

// Machines. Somebody comes, does something, goes or stands still; a print head, a fan, trees in the wind go
// on without a pause, for minutes to days. Where more of the last day's movement belonged to such spells of
// work than not, nothing happens, even if the next layer comes there only with the next print. Counted are
// pauses of tiles of 8×8 cells and those around: about the reach of a machine that matters in the picture.
inline constexpr int kTile = 8;            // cells
inline constexpr unsigned kTileCells = 4;  // that must change between pictures: the least that is a region
inline constexpr float kPause_s = 5;       // ends a spell: as between two events
inline constexpr float kSpell_s = 180;     // so long makes it one; a longer one is looked at in such pieces
inline constexpr float kSpellCell_s =
    5;  // of movement in a piece make a cell part of it: a hand is there less
// What counts in a spell's first minute may be the machine that begins (its cells are restless after 45 s);
// later it is somebody who comes to it.
inline constexpr float kBegin_s = 60;
// A spell that begins with somebody who comes from the picture's edge is theirs, not a machine's, and so long
// at the most: whoever starts a machine has left it by then. Later arrivals do not matter: a machine was
// there first.
inline constexpr float kArrival_s = 10;
inline constexpr float kVisit_s = 900;
// A minute without anything that counts makes what is at work a machine for now; what counts for a second
// undoes ten of it, so that one picture is no event.
inline constexpr float kHum_s = 60;
inline constexpr float kMostHum_s = 75;
inline constexpr float kUnhum = 10;
inline constexpr float kMachine_s = 10;    // of movement in spells make a cell a machine's
inline constexpr float kMachineShare = 1;  // … and so many times that in none
inline constexpr double kMachineTau_s = 86'400;
inline constexpr float kMostMoved_s =
    600;  // is remembered of both: what changes its use is learned within hours

// Light and view.
inline constexpr double kSwitchedShare = 0.25;
inline constexpr double kJumpShare = 0.5;
inline constexpr double kAlike = 0.6;

// Regions.
inline constexpr unsigned kLeastCells = 4;
inline constexpr double kSmallThings = 1.25;   // times the smallest that counts: these must go somewhere
inline constexpr double kLeastAge_s = 0.5;     // insects and rain do not stay so long in one place's reach
inline constexpr float kLive_s = 1;            // a region is alive where something changed within this time
inline constexpr double kLiveCells = 0.06;     // … in this share of its cells
inline constexpr unsigned kLightCells = 12;    // fewer cells cannot tell light from a thing
inline constexpr std::uint8_t kClipped = 245;  // grey levels: no structure is left
inline constexpr double kFineNoise = 4.47;     // √(4² + 4·1²): noise of the fine structure of noise 1
inline constexpr double kBandNoise = 2.45;     // √(2² + 2·1²): … of its half along the row
inline constexpr double kBandWidth = 0.5;      // of the picture, at least
inline constexpr double kBandHeight = 0.12;    // … at the most
inline constexpr double kFineTolerance = 2;    // of that noise, and
inline constexpr double kFineShare = 0.35;     // of what is expected
inline constexpr double kLightInside = 0.7;    // of the cells must be as light would leave them
inline constexpr double kLightEdge = 0.6;
inline constexpr double kMostLight_s = 1;  // what was light so long must be something else for half of that
inline constexpr double kUnlight = 2;
inline constexpr double kSpill = 0.25;  // of the cells under light
inline constexpr std::size_t kMostRegions = 64;

}  // namespace rookery::vision::motion
