// The subject "radio": how many cameras a channel carries, and what to change first.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "plan/radio_plan.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

constexpr std::array kGuards = {
    Choice{"long", "Long, 800 ns"},
    Choice{"short", "Short, 400 ns: only where board and access point both use it"},
};

constexpr std::array kFields = {
    Field{.key = "cameras",
          .label = "Cameras in all",
          .kind = Kind::count,
          .least = "1",
          .most = "300",
          .example = "6"},
    Field{.key = "picture",
          .label = "Bytes of one picture",
          .kind = Kind::bytes,
          .least = "500 B",
          .most = "2 MB",
          .why = "save a still and read its size; builders saw 15 to 49 kB at 800×600, up to 300 kB at "
                 "1600×1200",
          .example = "30 kB"},
    Field{.key = "rate",
          .label = "Pictures a second from each camera",
          .kind = Kind::rate,
          .least = "0.001 /s",
          .most = "60 /s",
          .example = "5 /s"},
    Field{.key = "channels",
          .label = "Channels used (1, 6 and 11 do not overlap), each with an access point",
          .kind = Kind::count,
          .least = "1",
          .most = "3",
          .preset = "1",
          .why = "one access point"},
    Field{.key = "rssi",
          .label = "Signal (RSSI) at the usual camera",
          .kind = Kind::level,
          .least = "-100 dBm",
          .most = "-20 dBm",
          .preset = "-60 dBm",
          .why = "a good spot in the access point's room; common practice, no source: read it off the board"},
    Field{.key = "rssi-worst",
          .label = "Signal (RSSI) at the worst camera",
          .kind = Kind::level,
          .least = "-100 dBm",
          .most = "-20 dBm",
          .why = "read it off the board that is farthest away, or off a phone held there",
          .may_be_absent = true},
    Field{.key = "weak",
          .label = "Cameras that are heard as badly as the worst",
          .kind = Kind::count,
          .least = "1",
          .most = "300",
          .why = "one, unless given",
          .may_be_absent = true},
    Field{.key = "walls",
          .label = "Walls in the way that were not there when the signal was read",
          .kind = Kind::count,
          .least = "0",
          .most = "10",
          .preset = "0",
          .why = "the signal was read where the camera will hang",
          .rare = true},
    Field{.key = "wall-loss",
          .label = "Lost in each wall",
          .kind = Kind::loss,
          .least = "0 dB",
          .most = "30 dB",
          .preset = "6 dB",
          .why = "brick; common practice, no source (plaster board 3, concrete 12 and more)",
          .rare = true},
    Field{.key = "fade",
          .label = "Signal kept in hand for people, doors and metal that move",
          .kind = Kind::loss,
          .least = "0 dB",
          .most = "30 dB",
          .preset = "10 dB",
          .why = "common practice, no source",
          .rare = true},
    Field{.key = "others",
          .label = "Share of the channel that others take",
          .kind = Kind::ratio,
          .least = "0 %",
          .most = "95 %",
          .preset = "20 %",
          .why = "neighbours, phones, beacons; common practice, no source: many access points show it"},
    Field{.key = "free",
          .label = "Share of the channel to leave free",
          .kind = Kind::ratio,
          .least = "0 %",
          .most = "90 %",
          .preset = "30 %",
          .why = "for repeats and bursts; common practice, no source",
          .rare = true},
    Field{.key = "round-trip",
          .label = "Round trip to a board",
          .kind = Kind::duration,
          .least = "1 ms",
          .most = "2 s",
          .preset = "10 ms",
          .why = "the slow end of what builders saw with the radio's sleep off (6 to 10 ms; 64 with it)",
          .rare = true},
    Field{.key = "guard",
          .label = "Guard interval",
          .kind = Kind::choice,
          .preset = "long",
          .why = "what every board can do",
          .choices = kGuards,
          .rare = true},
    Field{.key = "together",
          .label = "Packets that a board sends in one go",
          .kind = Kind::count,
          .least = "1",
          .most = "4",
          .preset = "1",
          .why = "the cautious end; four fill the board's window of 5744 B",
          .rare = true},
};

RadioPlan plan_of(const Values& values) {
  RadioPlan plan;
  plan.cameras = values.count("cameras");
  plan.channels = values.count("channels");
  plan.fade = values.decibels("fade");
  const Decibels walls{values.count("walls") * values.decibels("wall-loss").db};
  plan.usual_signal = values.dbm("rssi") - walls;
  plan.weak_signal = plan.usual_signal;
  if (values.has("rssi-worst")) {
    plan.weak = values.has("weak") ? values.count("weak") : 1;
    plan.weak_signal = values.dbm("rssi-worst") - walls;
  }
  plan.others = values.ratio("others");
  plan.most = 1 - values.ratio("free");
  plan.round_trip = values.seconds("round-trip");
  plan.load = {.picture = values.bytes("picture"),
               .rate = Hertz::from_value(values.number("rate")),
               .usual = rate_with(plan.usual_signal, plan.fade),
               .weak = rate_with(plan.weak_signal, plan.fade),
               .guard = values.choice("guard") == "long" ? Guard::long_guard : Guard::short_guard,
               .together = values.count("together")};
  return plan;
}

std::optional<base::Error> does_not_go_together(const Values& values, const RadioPlan& plan) {
  const auto error = [](std::string_view key, std::string detail, std::string remedy) {
    return base::Error(base::ErrorCode::invalid_value, fmt::format("radio: {}", key), std::move(detail),
                       std::move(remedy));
  };
  if (values.has("weak") && !values.has("rssi-worst")) {
    return error("weak", "weak cameras are counted, but how they are heard is not said",
                 "give `rssi-worst` as well, or leave `weak` out");
  }
  if (plan.weak > plan.cameras) {
    return error("weak", fmt::format("{} weak cameras, but {} in all", plan.weak, plan.cameras),
                 "count the weak ones among `cameras`");
  }
  if (plan.weak_signal > plan.usual_signal) {
    return error("rssi-worst",
                 fmt::format("{} is better than the usual camera's {}", values.text("rssi-worst"),
                             values.text("rssi")),
                 "give the weaker signal (the lower number) as `rssi-worst`");
  }
  if (plan.others >= plan.most) {
    return error("others",
                 fmt::format("others take {} and {} shall stay free: nothing is left for cameras",
                             values.text("others"), values.text("free")),
                 "give a smaller `free`, or use another channel");
  }
  return std::nullopt;
}

std::string remedy_of(const RadioPlan& plan, const std::vector<RadioChange>& changes) {
  const RadioChange* most = most_gain(changes);
  const std::string gain = most == nullptr ? "No single change lets more cameras fit: take several."
                                           : fmt::format("Most is gained by {}: {} instead of {}.",
                                                         most->what, fit_words(most->fit), plan.fit());
  return gain +
         " To halve the bytes, set the board's quality number 2.5 times as high (builders saw bytes ∝ "
         "quality^−0.75).";
}

std::vector<Limit> limits_of(const RadioPlan& plan, const std::vector<RadioChange>& changes) {
  std::vector<Limit> limits;
  limits.push_back(judged({.key = "airtime",
                           .label = "Fullest channel, cameras and others",
                           .kind = Kind::ratio,
                           .value = plan.fullest() + plan.others,
                           .bound = plan.most,
                           .at_most = true,
                           .source = "all of it less the share to leave free",
                           .remedy = remedy_of(plan, changes)},
                          0.1));
  const double least = ht_rates().front().sensitivity.dbm + plan.fade.db;
  limits.push_back(
      judged({.key = "signal",
              .label = plan.weak > 0 ? "Signal at the worst camera" : "Signal at the cameras",
              .kind = Kind::level,
              .value = plan.worst_signal().dbm,
              .bound = least,
              .at_most = false,
              .source = fmt::format("−82 dBm for MCS 0 (IEEE 802.11-2016, as quoted by others; table 19-23 "
                                    "from memory) and {:.0f} dB in hand",
                                    plan.fade.db),
              .remedy = "Halve the way to the access point (6 dB in the open), take a wall out of it, or use "
                        "a board with a socket for an aerial, and set its selector to the socket."},
             3 / std::abs(least)));
  const BoardCeiling ceiling = ceiling_of_worst(plan);
  limits.push_back(judged({.key = "board",
                           .label = plan.weak > 0 ? "Sent by the worst camera" : "Sent by one camera",
                           .kind = Kind::bit_rate,
                           .value = 8 * (plan.load.picture.value() * plan.load.rate.value()),
                           .bound = 8 * ceiling.rate.value(),
                           .at_most = true,
                           .source = ceiling.source,
                           .remedy = ceiling.remedy},
                          0.2));
  return limits;
}

std::vector<Figure> figures_of(const RadioPlan& plan) {
  const ChannelUse use = channel_use(plan.load, dealt(plan.cameras, plan.weak, plan.channels, 0));
  const double each = plan.load.picture.value() * plan.load.rate.value();
  const double ceiling = ceiling_of_worst(plan).rate.value();
  std::vector<Figure> out = {
      {.key = "share",
       .label = "Share of the fullest channel, cameras alone",
       .kind = Kind::ratio,
       .value = use.share(),
       .digits = 2,
       .note = "of what it carries when all of them contend"},
      {.key = "fit",
       .label = "Cameras that fit with the margin",
       .kind = Kind::count,
       .value = static_cast<double>(plan.fit())},
      {.key = "mcs-rate",
       .label = "Rate of most cameras on the air",
       .kind = Kind::bit_rate,
       .value = plan.load.usual.mbps(plan.load.guard) * 1e6,
       .note = fmt::format("MCS {}", plan.load.usual.mcs)},
  };
  if (plan.weak > 0) {
    out.push_back({.key = "weak-rate",
                   .label = "Rate of weak cameras on the air",
                   .kind = Kind::bit_rate,
                   .value = plan.load.weak.mbps(plan.load.guard) * 1e6,
                   .note = fmt::format("MCS {}", plan.load.weak.mcs)});
  }
  out.insert(
      out.end(),
      {{.key = "on-air",
        .label = "Share without back-off and collisions",
        .kind = Kind::ratio,
        .value = use.alone,
        .digits = 2},
       {.key = "collision",
        .label = "Attempts that collide when all contend",
        .kind = Kind::ratio,
        .value = use.collision,
        .digits = 2},
       {.key = "each", .label = "Pictures of one camera", .kind = Kind::bit_rate, .value = 8 * each},
       {.key = "total",
        .label = "Pictures of all cameras",
        .kind = Kind::bit_rate,
        .value = 8 * each * plan.cameras},
       {.key = "picture-time",
        .label = "One picture is on its way for at least",
        .kind = Kind::duration,
        .value = plan.load.picture.value() / ceiling},
       {.key = "fastest",
        .label = "Most that one camera could send",
        .kind = Kind::rate,
        .value = ceiling / plan.load.picture.value(),
        .note = plan.weak > 0 ? "the worst one, with the channel to itself" : "with the channel to itself"}});
  return out;
}

Table changes_table(const std::vector<RadioChange>& changes, double others) {
  Table table{"What to change, and what it brings", {"Change", "Fullest channel", "Cameras that fit"}, {}};
  for (const RadioChange& change : changes) {
    table.rows.push_back(
        {change.what, show_share(change.share + others),
         change.fit >= kMostCameras ? fmt::format("{} and more", kMostCameras) : std::to_string(change.fit)});
  }
  table.chosen = 0;
  return table;
}

Table channels_table(const RadioPlan& plan) {
  Table table{"Channel plan", {"Channel", "Middle", "Cameras", "Of them weak", "Taken, with others"}, {}};
  for (int i = 0; i < plan.channels; ++i) {
    const int channel = kChannels[static_cast<std::size_t>(i)];
    const ChannelCameras on_it = dealt(plan.cameras, plan.weak, plan.channels, i);
    table.rows.push_back({std::to_string(channel),
                          fmt::format("{:.0f} MHz", channel_middle(channel).value() / 1e6),
                          std::to_string(on_it.all()), std::to_string(on_it.weak),
                          show_share(channel_use(plan.load, on_it).share() + plan.others)});
  }
  return table;
}

Table rates_table(const RadioPlan& plan) {
  Table table{"Rate by signal, and how many such cameras fit",
              {"Signal at least", "Rate", "Long/short guard, Mb/s", "One alone", "Cameras that fit"},
              {}};
  for (const HtRate& rate : ht_rates()) {
    if (rate.mcs == plan.load.usual.mcs) table.chosen = table.rows.size();
    RadioPlan all = plan;
    all.weak = 0;
    all.load.usual = rate;
    table.rows.push_back({fmt::format("{:.0f} dBm", rate.sensitivity.dbm + plan.fade.db),
                          fmt::format("MCS {}", rate.mcs),
                          fmt::format("{}/{}", rate.long_mbps, rate.short_mbps),
                          show_bits(carried_alone(plan.load, rate)), std::to_string(all.fit())});
  }
  return table;
}

std::vector<Note> notes_of(const RadioPlan& plan) {
  std::vector<Note> notes = {
      {.text = "The sum is cautious: it takes the cameras and the access point to have something to send all "
               "the time, which is when they disturb each other most."},
      {.text = "A board reads how it hears the access point; pictures go the other way, and a strong access "
               "point hides a weak board.",
       .remedy = "Trust the signal that the access point shows for the board, where it shows one."},
  };
  notes.push_back(
      {.text =
           "Channels 1, 6 and 11 are 20 MHz wide and do not overlap; one in between disturbs two of them.",
       .remedy = plan.channels > 1
                     ? "Set each access point to 20 MHz, and give each its own cameras."
                     : "Set the access point to 20 MHz and to whichever of the three is quietest."});
  return notes;
}

std::string headline_of(const RadioPlan& plan, const std::vector<RadioChange>& changes) {
  std::string out = fmt::format("{} and others take {} of {}, where at most {} should be taken; {}",
                                cameras_of(plan.cameras), show_share(plan.fullest() + plan.others),
                                plan.channels > 1 ? "the fullest channel" : "the channel",
                                show_value(plan.most, Kind::ratio, 2), fit_words(plan.fit()));
  if (plan.fit() == 0 && plan.weak > 0) out += " while one is so weak";
  const RadioChange* most = most_gain(changes);
  if (most != nullptr && plan.fit() <= plan.cameras) {
    out += fmt::format(", and most is gained by {}: {}", most->what, fit_words(most->fit));
  }
  return out;
}

base::Result<Answer> answer(const Values& values) {
  const RadioPlan plan = plan_of(values);
  if (auto error = does_not_go_together(values, plan)) return std::move(*error);
  const auto changes = radio_changes(plan);
  Answer out;
  out.limits = limits_of(plan, changes);
  out.headline = headline_of(plan, changes);
  out.figures = figures_of(plan);
  out.tables = {changes_table(changes, plan.others), channels_table(plan), rates_table(plan)};
  out.steps = radio_steps(plan);
  out.notes = notes_of(plan);
  out.drawing = radio_drawing(plan);
  return out;
}

}  // namespace

Subject radio_subject() {
  return {
      .key = "radio",
      .title = "Radio",
      .question =
          "How many cameras does a radio channel carry, at their pictures and signal, and what to "
          "change first?",
      .fields = kFields,
      .answer = &answer,
  };
}

}  // namespace rookery::plan
