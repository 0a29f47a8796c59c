// JobWatch: something is where nothing was, and the machine goes on: a part that came off, a mess.
#include <algorithm>

#include "vision/job_body.h"

namespace rookery::vision {
namespace {

// What came at once is seen in six of eight looks, what grows slowly in nearly all.
constexpr SceneNews::Lasting kAtOnce{.of = 8, .count = 6, .working = 5};
constexpr double kAtOnceShare = 0.005;  // of the picture
constexpr SceneNews::Lasting kSlowly{.of = 10, .count = 8, .working = 6};
constexpr SceneNews::Lasting kLately{.of = 8, .count = 3, .working = 0};
constexpr double kSlowlyShare = 0.0015;
constexpr double kSureShare = 0.03;
constexpr float kMostLost = 0.01F;  // of the picture: where white is cut off, shapes are lost
constexpr double kKept_s = 300;     // so long it is held against what was before
constexpr double kFree_s = 180;     // without anything new
constexpr double kUnseen_s = 60;
// Looks until what the picture has become is remembered.
constexpr std::uint32_t kAfterAway = 20;
constexpr std::uint32_t kAfterKept = 30;
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
  if (looked_s_ >= 0 && at_s_ - looked_s_ > std::max(kUnseen_s, 6 * options_.still_every_s))
    news_.pause(kAfterAway);
  looked_s_ = at_s_;
  Sign& loose = sign(JobSign::loose);
  const bool kept = loose.stands && at_s_ - loose_s_ < kKept_s;
  if (loose.stands && !kept && loose_kept_) news_.pause(kAfterKept);
  loose_kept_ = kept;
  news_.look({.flat = light.flat,
              .light = light.share,
              .works = works(),
              .in_usual_place = in_usual_place_,
              .learn = !kept});
  const double lasting = news_.lasting_share(kAtOnce);
  const bool lasts = (lasting >= kAtOnceShare || news_.lasting_share(kSlowly) >= kSlowlyShare) &&
                     !sign(JobSign::finished).stands;
  // What has been there for five minutes is taken for the picture as it is now; that it came stays told,
  // until something else comes. That is less sure: a shape that begins anew in mid-air does so at each
  // height.
  const bool again = loose.stands && !kept && lasts;
  if (again) tell(JobSign::loose, {.looks = false, .free_s = 0}, reports);
  const bool told = loose.stands;
  if (lasts && !told) {
    loose_s_ = at_s_;
    loose_share_ = news_.lasting_share(kLately);
    loose_kept_ = true;
  }
  tell(JobSign::loose,
       {.looks = told ? !kept || news_.lasting_share(kLately) >= 0.5 * loose_share_ : lasts,
        .free_s = kFree_s,
        .strength = std::min(1.0, lasting / (2 * kSureShare)),
        .sure = lasting >= kSureShare && light.lost < kMostLost && !told && !dim_ && !again &&
                !news_.lies_at_edge(),
        .where = share_of(news_.where(), width_, height_),
        .before_s = at_s_ - 12 * std::max(kLookEvery_s, options_.still_every_s)},
       reports);
  if (told && !loose.stands) news_.pause(kAfterAway);
}

}  // namespace rookery::vision
