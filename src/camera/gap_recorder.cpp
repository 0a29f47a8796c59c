#include "camera/gap_recorder.h"

#include <algorithm>
#include <utility>
#include <vector>

namespace rookery::camera {

using base::MonoTime;
using std::chrono::nanoseconds;
using std::chrono::seconds;

namespace {

constexpr seconds kLinkKept{45};
constexpr seconds kBrokenKept{30};
constexpr seconds kLateKept{10};
constexpr seconds kNotKnownYet{30};  // a camera's usual interval, after its first picture
constexpr std::size_t kMinutesKept = 30;
constexpr std::size_t kMostSeen =
    400;                       // attempts and questions of one dropout; the first and the latest matter
constexpr int kIntervals = 5;  // as camera::Session: without a picture for 5 usual intervals

template <class T>
nanoseconds age(MonoTime now, const T& seen) {
  if constexpr (std::is_same_v<T, MonoTime>) {
    return now - seen;
  } else {
    return now - seen.at;
  }
}

template <class T>
void drop_older(std::deque<T>& kept, MonoTime now, nanoseconds than) {
  while (!kept.empty() && age(now, kept.front()) > than) kept.pop_front();
}

}  // namespace

nanoseconds GapRecorder::bound() const {
  if (pictures_.size() < 2) return std::max<nanoseconds>(limits_.least, kNotKnownYet);
  std::vector<nanoseconds> intervals;
  for (std::size_t n = 1; n < pictures_.size(); ++n)
    intervals.push_back(pictures_[n].at - pictures_[n - 1].at);
  const auto middle = intervals.begin() + static_cast<std::ptrdiff_t>(intervals.size() / 2);
  std::nth_element(intervals.begin(), middle, intervals.end());
  return std::max<nanoseconds>(limits_.least, *middle * kIntervals);
}

void GapRecorder::count_minute(const PictureSeen& picture) {
  if (!minute_began_) minute_began_ = picture.at;
  if (picture.at - *minute_began_ >= std::chrono::minutes(1)) {
    if (minute_pictures_ > 0) minutes_.push_back(static_cast<float>(minute_bytes_ / minute_pictures_));
    if (minutes_.size() > kMinutesKept) minutes_.pop_front();
    minute_began_ = picture.at;
    minute_bytes_ = 0;
    minute_pictures_ = 0;
  }
  minute_bytes_ += picture.bytes;
  ++minute_pictures_;
}

void GapRecorder::picture(const PictureSeen& picture, FramePtr frame) {
  // Nobody may have looked in between: our own work was late.
  if (phase_ == Phase::live && !pictures_.empty() && picture.at - pictures_.back().at > limits_.least &&
      picture.at - pictures_.back().at > bound())
    begin();
  if (picture.connection != connection_) {
    connection_ = picture.connection;
    streaming_since_ = picture.at;
  }
  if (phase_ == Phase::gap) {
    // Pictures that lay in wait before it was noticed belong to it as much as later ones.
    now_.back = picture.at;
    now_.after.clear();
    phase_ = Phase::settling;
    settling_since_ = picture.at;
  }
  if (phase_ == Phase::settling && now_.after.size() < kKept) {
    now_.after.push_back(picture);
    if (now_.after.size() == 1) now_.first_after = frame;
    now_.last_after = std::move(frame);
  }
  if (phase_ == Phase::idle) phase_ = Phase::live;
  count_minute(picture);
  pictures_.push_back(picture);
  if (pictures_.size() > kKept) pictures_.pop_front();
}

void GapRecorder::broken(MonoTime at) {
  broken_.push_back(at);
  drop_older(broken_, at, kBrokenKept);
  if (phase_ == Phase::gap && now_.broken.size() < kMostSeen) now_.broken.push_back(at);
}

void GapRecorder::ended(const AttemptSeen& attempt) {
  if (phase_ == Phase::idle || pictures_.empty()) return;
  if (phase_ == Phase::live) begin();
  if (now_.attempts.size() < kMostSeen) now_.attempts.push_back(attempt);
  phase_ = Phase::gap;
  now_.back.reset();
}

void GapRecorder::link(const LinkSample& sample) {
  link_.push_back(sample);
  drop_older(link_, sample.at, kLinkKept);
  if (phase_ == Phase::gap && now_.link.size() < kMostSeen) now_.link.push_back(sample);
}

void GapRecorder::late(const LateSeen& late) {
  late_.push_back(late);
  drop_older(late_, late.at, kLateKept);
  if ((phase_ == Phase::gap || phase_ == Phase::settling) && now_.late.size() < kMostSeen)
    now_.late.push_back(late);
}

void GapRecorder::probe(const ProbeSeen& probe) {
  // The answer to a question of the gap may come after its end.
  if ((phase_ == Phase::gap || phase_ == Phase::settling) && now_.probes.size() < kMostSeen)
    now_.probes.push_back(probe);
}

void GapRecorder::moved(MonoTime /*at*/) {
  if (phase_ == Phase::gap || phase_ == Phase::settling) now_.address_changed = true;
}

void GapRecorder::forget() {
  phase_ = Phase::idle;
  now_.first_after.reset();
  now_.last_after.reset();
  pictures_.clear();
  link_.clear();
  broken_.clear();
  minutes_.clear();
  minute_began_.reset();
  minute_bytes_ = 0;
  minute_pictures_ = 0;
}

std::optional<MonoTime> GapRecorder::gap_since() const {
  if (phase_ != Phase::gap) return std::nullopt;
  return now_.began;
}

std::optional<PictureSeen> GapRecorder::last_picture() const {
  if (pictures_.empty()) return std::nullopt;
  return pictures_.back();
}

void GapRecorder::begin() {
  now_ = DropoutSeen();
  now_.number = ++numbers_;
  now_.began = pictures_.back().at;
  now_.began_wall = base::WallTime(
      std::chrono::duration_cast<base::Microseconds>(now_.began.time_since_epoch()) + wall_less_mono_);
  begun_ = true;
  drop_older(broken_, now_.began, kBrokenKept);
  drop_older(late_, now_.began, kLateKept);
  now_.before.assign(pictures_.begin(), pictures_.end());
  now_.broken.assign(broken_.begin(), broken_.end());
  now_.link.assign(link_.begin(), link_.end());
  now_.late.assign(late_.begin(), late_.end());
  now_.bytes_by_minute.assign(minutes_.begin(), minutes_.end());
  now_.streaming_since = streaming_since_;
  told_ = false;
  phase_ = Phase::gap;
}

bool GapRecorder::look(MonoTime now, base::WallTime wall) {
  wall_less_mono_ =
      wall.time_since_epoch() - std::chrono::duration_cast<base::Microseconds>(now.time_since_epoch());
  if (phase_ == Phase::live && !pictures_.empty() && now - pictures_.back().at > bound()) begin();
  // Pictures stopped again before it was over: the same dropout goes on.
  if (phase_ == Phase::settling && now - pictures_.back().at > bound()) {
    phase_ = Phase::gap;
    now_.back.reset();
  }
  return std::exchange(begun_, false);
}

std::optional<DropoutSeen> GapRecorder::take(MonoTime now) {
  const bool over = phase_ == Phase::settling && now - settling_since_ >= limits_.settle;
  const bool first_word = (phase_ == Phase::gap || phase_ == Phase::settling) && !told_ && !over &&
                          now - now_.began >= limits_.first_word;
  if (!over && !first_word) return std::nullopt;
  DropoutSeen out = now_;
  out.looked = now;
  if (!over) out.back.reset();
  told_ = true;
  if (over) {
    phase_ = Phase::live;
    now_.first_after.reset();
    now_.last_after.reset();
    // A restarted board warms up anew.
    minutes_.clear();
  }
  return out;
}

}  // namespace rookery::camera
