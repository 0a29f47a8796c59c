#include "web/socket_words.h"

#include <set>

#include <boost/json/array.hpp>
#include <boost/json/value.hpp>

#include "base/printable.h"
#include "web/fields.h"

namespace rookery::web {
namespace {

using base::Error;
using base::ErrorCode;

constexpr int kSlotMost = 65535;
constexpr int kWidthMost = 16384;
// More pictures than that on one page cannot be looked at.
constexpr std::size_t kShowMost = 512;

Show read_show(Fields& fields) {
  Show show;
  const boost::json::array* list = fields.array("cameras");
  if (list == nullptr) return show;
  if (list->size() > kShowMost) {
    fields.fault(Error(ErrorCode::too_large, "show", fmt::format("more than {} pictures", kShowMost)));
    return show;
  }
  std::set<int> slots;
  for (const boost::json::value& value : *list) {
    if (!value.is_object()) {
      fields.fault(Error(ErrorCode::invalid_value, "show", "\"cameras\" holds something that is no object"));
      return show;
    }
    Fields one(value.get_object(), "show: one of \"cameras\"");
    ShowOne wanted;
    wanted.camera = one.text("camera");
    wanted.slot = static_cast<int>(one.integer("slot", 0, kSlotMost));
    wanted.width_px = static_cast<int>(one.integer("width_px", 0, kWidthMost));
    if (auto all = one.finish(); !all) fields.fault(all.error());
    if (!slots.insert(wanted.slot).second) {
      fields.fault(
          Error(ErrorCode::invalid_value, "show", fmt::format("slot {} stands there twice", wanted.slot)));
    }
    show.cameras.push_back(std::move(wanted));
  }
  return show;
}

int slot_of(Fields& fields) { return static_cast<int>(fields.integer("slot", 0, kSlotMost)); }

Play read_play(Fields& fields) {
  Play play;
  play.slot = slot_of(fields);
  play.camera = fields.text("camera");
  play.at = fields.time("at");
  play.speed = fields.number("speed", -64, 64);
  play.width_px = static_cast<int>(fields.integer("width_px", 0, kWidthMost));
  if (std::abs(play.speed) < 0.01) {
    fields.fault(Error(ErrorCode::invalid_value, "play", "\"speed\" is 0", "Send {\"do\":\"pause\"}."));
  }
  return play;
}

Step read_step(Fields& fields) {
  Step step;
  step.slot = slot_of(fields);
  step.frames = static_cast<int>(fields.integer("frames", -100, 100));
  if (step.frames == 0) fields.fault(Error(ErrorCode::invalid_value, "step", "\"frames\" is 0"));
  return step;
}

PageWord read_by_verb(const std::string& verb, Fields& fields) {
  if (verb == "show") return read_show(fields);
  if (verb == "ack") {
    Acknowledge word;
    word.serial = static_cast<std::uint32_t>(fields.integer("serial", 0, 0xffffffff));
    return word;
  }
  if (verb == "play") return read_play(fields);
  if (verb == "pause") return Pause{slot_of(fields)};
  if (verb == "step") return read_step(fields);
  if (verb == "stop") return StopPlaying{slot_of(fields)};
  fields.fault(Error(ErrorCode::invalid_value, "message",
                     fmt::format("\"do\" is \"{}\"", base::printable(verb, 40)),
                     "Use show, ack, play, pause, step or stop."));
  return Show{};
}

template <class Number>
void put(unsigned char*& at, Number number, int bytes) {
  for (int shift = 8 * (bytes - 1); shift >= 0; shift -= 8) {
    *at++ = static_cast<unsigned char>(static_cast<std::uint64_t>(number) >> shift);
  }
}

}  // namespace

base::Result<PageWord> read_page_word(std::string_view text) {
  auto fields = Fields::parse(text, "message");
  if (!fields) return std::move(fields).error();
  const std::string verb = fields->text("do");
  PageWord word = read_by_verb(verb, *fields);
  if (auto all = fields->finish(); !all) {
    Error error = std::move(all).error();
    error.code = ErrorCode::invalid_value;
    return error;
  }
  return word;
}

PictureHead picture_head(PictureKind kind, int slot, std::uint32_t serial, const camera::Frame& frame) {
  PictureHead head{};
  unsigned char* at = head.data();
  put(at, 1, 1);
  put(at, static_cast<int>(kind), 1);
  put(at, slot, 2);
  put(at, serial, 4);
  put(at, frame.arrived.time_since_epoch().count(), 8);
  put(at, frame.size.width_px, 2);
  put(at, frame.size.height_px, 2);
  return head;
}

}  // namespace rookery::web
