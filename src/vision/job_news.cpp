// JobWatch: something is where nothing was, and the machine goes on: a part that came off, a mess.
#include <algorithm>

#include "vision/job_body.h"

namespace rookery::vision {
namespace {

constexpr double kLookEvery_s = 4.5;  // at the most often
// What came at once is seen in six of eight looks, what grows slowly in nearly all.
constexpr SceneNews::Lasting kAtOnce{.of = 8, .count = 6, .working = 5};
constexpr double kAtOnceShare = 0.005;  // of the picture
constexpr SceneNews::Lasting kSlowly{.of = 10, .count = 8, .working = 6};
constexpr SceneNews::Lasting kLately{.of = 8, .count = 3, .working = 0};
constexpr double kSlowlyShare = 0.0015;
constexpr double kSureShare = 0.025;
constexpr double kKept_s = 600;  // so long it is held against what was before
constexpr double kFree_s = 300;  // without anything new
constexpr double kUnseen_s = 60;
constexpr double kLearn_s = 60;  // of movement: what is usual follows quickly until then
constexpr double kUsualStep = 0.04;
constexpr double kEnough = 0.5;  // of the usual movement in the usual place

}  // namespace

// The head aside, with a hand at work, moves as many cells as the work does, but others.
void JobWatch::Body::note_place(double weight) {
  in_usual_place_ = usual_weight_ > 0 && weight >= kEnough * usual_weight_;
  if (active_.empty() || active_.back() == 0) return;
  if (active_s_ < kLearn_s) {
    usual_weight_ += 0.1 * (weight - usual_weight_);
  } else {
    usual_weight_ *= weight > usual_weight_ ? 1 + kUsualStep : 1 - kUsualStep;
  }
}

void JobWatch::Body::judge_news(const Levelled& light, std::vector<JobReport>& reports) {
  if (looked_s_ >= 0 && at_s_ - looked_s_ < kLookEvery_s) return;
  // Meanwhile it has grown unseen, or what it did was not learned.
  if (looked_s_ >= 0 && at_s_ - looked_s_ > std::max(kUnseen_s, 6 * options_.still_every_s)) news_.pause();
  looked_s_ = at_s_;
  const bool told = sign(JobSign::loose).stands;
  const bool kept = told && at_s_ - loose_s_ < kKept_s;
  news_.look({.flat = light.flat,
              .light = light.share,
              .works = works(),
              .in_usual_place = in_usual_place_,
              .learn = !kept});
  const double lasting = news_.lasting_share(kAtOnce);
  const bool lasts = lasting >= kAtOnceShare || news_.lasting_share(kSlowly) >= kSlowlyShare;
  // What has been there for ten minutes is taken for the picture as it is now; that it came stays told.
  const bool looks = told ? !kept || news_.lasting_share(kLately) >= 0.5 * loose_share_
                          : lasts && !sign(JobSign::finished).stands;
  if (looks && !told) {
    loose_s_ = at_s_;
    loose_share_ = news_.lasting_share(kLately);
  }
  tell(JobSign::loose,
       {.looks = looks,
        .free_s = kFree_s,
        .strength = std::min(1.0, lasting / (2 * kSureShare)),
        .sure = lasting >= kSureShare && !dim_,
        .where = share_of(news_.where(), width_, height_),
        .before_s = at_s_ - 12 * std::max(kLookEvery_s, options_.still_every_s)},
       reports);
  if (told && !sign(JobSign::loose).stands) news_.pause();
}

}  // namespace rookery::vision
