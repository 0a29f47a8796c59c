// The subject "disk": how long recordings are kept, what disk a wish for days needs, and how long it lasts.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "plan/disk_plan.h"
#include "plan/safe_side.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

constexpr std::array kRecords = {
    Choice{"always", "Always"},
    Choice{"events", "Around events only"},
};
constexpr std::array kMedia = {
    Choice{"ssd", "Solid-state disk"},
    Choice{"hard-disk", "Hard disk"},
    Choice{"card", "Memory card"},
    Choice{"endurance-card", "Memory card made for recording"},
};

constexpr std::array kFields = {
    Field{.key = "cameras",
          .label = "Cameras",
          .kind = Kind::count,
          .least = "1",
          .most = "1000",
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
    Field{.key = "medium", .label = "Kind of disk", .kind = Kind::choice, .choices = kMedia},
    Field{.key = "record",
          .label = "What is recorded",
          .kind = Kind::choice,
          .preset = "always",
          .why = "the station's own setting unless changed",
          .choices = kRecords},
    Field{.key = "events",
          .label = "Share of the time around events, with what goes before and after",
          .kind = Kind::ratio,
          .least = "0.01 %",
          .most = "100 %",
          .preset = "10 %",
          .why = "common practice, no source; each event brings 15 s of its own (5 before, 10 after)"},
    Field{.key = "disk",
          .label = "Size of the disk",
          .kind = Kind::bytes,
          .least = "1 GB",
          .most = "1000 TB",
          .why = "as printed on it; without it the sum says which is needed",
          .may_be_absent = true},
    Field{.key = "days",
          .label = "How long recordings shall be kept",
          .kind = Kind::duration,
          .least = "1 h",
          .most = "10 years",
          .preset = "7 days",
          .why = "a week, so that who was away can look back; common practice, no source"},
    Field{.key = "taken",
          .label = "Taken by other things",
          .kind = Kind::bytes,
          .least = "0 B",
          .most = "1000 TB",
          .preset = "0 B",
          .why = "a disk of its own; with the system on it 8 to 16 GB",
          .rare = true},
    Field{.key = "keep-free",
          .label = "Kept free by the station",
          .kind = Kind::bytes,
          .least = "0 B",
          .most = "1000 TB",
          .preset = "1 GiB",
          .why = "its setting keep_free_gib unless changed; half of the disk at most",
          .rare = true},
    Field{.key = "reserved",
          .label = "Kept back by the file system",
          .kind = Kind::ratio,
          .least = "0 %",
          .most = "49 %",
          .preset = "5 %",
          .why = "what ext4 keeps for the system",
          .rare = true},
    Field{.key = "endurance",
          .label = "Bytes that may be written in its life (TBW)",
          .kind = Kind::bytes,
          .least = "1 GB",
          .most = "1000000 TB",
          .why = "in its datasheet; without it cycles and amplification are taken",
          .rare = true,
          .may_be_absent = true},
    Field{.key = "cycles",
          .label = "How often each cell may be written",
          .kind = Kind::number,
          .least = "10",
          .most = "100000",
          .preset = "500",
          .why = "the low end of flash; common practice, no source",
          .rare = true},
    Field{.key = "amplification",
          .label = "Bytes written inside for each from outside",
          .kind = Kind::number,
          .least = "1",
          .most = "100",
          .preset = "3",
          .why = "from memory: 1.1 to 3, the cautious end, since the station flushes every second",
          .rare = true},
    Field{.key = "life",
          .label = "How long the disk shall last",
          .kind = Kind::duration,
          .least = "1 days",
          .most = "50 years",
          .preset = "3 years",
          .why = "common practice, no source",
          .rare = true},
    Field{.key = "write-rate",
          .label = "Write rate that the disk takes",
          .kind = Kind::byte_rate,
          .least = "10 kB/s",
          .most = "10 GB/s",
          .why = "10 MB/s are taken for a card (class A1); others are judged when it is given",
          .rare = true,
          .may_be_absent = true},
};

Medium medium_of(std::string_view word) {
  return word == "ssd"         ? Medium::ssd
         : word == "hard-disk" ? Medium::hard_disk
         : word == "card"      ? Medium::card
                               : Medium::endurance_card;
}

bool is_card(Medium medium) { return medium == Medium::card || medium == Medium::endurance_card; }

DiskPlan plan_of(const Values& values) {
  DiskPlan plan;
  plan.cameras = values.count("cameras");
  plan.picture = values.bytes("picture");
  plan.rate = Hertz::from_value(values.number("rate"));
  plan.always = values.choice("record") == "always";
  plan.events = values.ratio("events");
  plan.room = {values.ratio("reserved"), values.bytes("taken"), values.bytes("keep-free")};
  plan.wanted = values.seconds("days");
  plan.medium = medium_of(values.choice("medium"));
  if (values.has("endurance")) plan.endurance = values.bytes("endurance");
  plan.cycles = values.number("cycles");
  plan.amplification = values.number("amplification");
  plan.life_wanted = values.seconds("life");
  if (values.has("write-rate")) {
    plan.write_rate = values.bytes_per_second("write-rate");
  } else if (is_card(plan.medium)) {
    plan.write_rate = kCardWriteRate;
  }
  plan.disk_found = !values.has("disk");
  plan.disk = plan.disk_found ? usual_disk_for(plan.needed()) : values.bytes("disk");
  return plan;
}

// The same with one thing changed, on the disk as it is.
struct Change {
  std::string what;
  DiskPlan plan;
};

std::vector<Change> changes_of(const DiskPlan& plan) {
  std::vector<Change> out = {{"as asked", plan}};
  DiskPlan other = plan;
  other.picture = plan.picture / 2.0;
  out.push_back({"half the bytes a picture", other});
  other = plan;
  other.rate = plan.rate / 2.0;
  out.push_back({"half the rate", other});
  other = plan;
  other.always = !plan.always;
  out.push_back({other.always ? "recorded always"
                              : fmt::format("around events only, {} of the time",
                                            show_value(plan.events, Kind::ratio, 2)),
                 other});
  if (plan.medium == Medium::card) {
    other = plan;
    other.medium = Medium::endurance_card;
    other.endurance.reset();
    out.push_back({"a card made for recording", other});
  }
  return out;
}

Table changes_table(const DiskPlan& plan) {
  Table table{"What to change, and what it brings", {"Change", "A day", "Kept for", "The disk lasts"}, {}};
  for (const Change& change : changes_of(plan)) {
    table.rows.push_back({change.what, show_bytes(Bytes::from_value(change.plan.average().value() * 86400)),
                          show_days(change.plan.kept()), life_words(change.plan)});
  }
  table.chosen = 0;
  return table;
}

Table sizes_table(const DiskPlan& plan) {
  Table table{"Other sizes", {"Disk", "Kept for", "The disk lasts"}, {}};
  for (const Bytes& size : usual_disks()) {
    DiskPlan other = plan;
    other.disk = size;
    // What a maker states holds for that one disk.
    if (size != plan.disk) other.endurance.reset();
    if (size == plan.disk) table.chosen = table.rows.size();
    table.rows.push_back({show_bytes(size), show_days(other.kept()),
                          plan.endurance && size != plan.disk ? "by its own datasheet" : life_words(other)});
  }
  return table;
}

std::string days_remedy(const DiskPlan& plan) {
  const Bytes disk = usual_disk_for(plan.needed());
  if (disk > kLargestDisk) return "No disk that this sum knows is enough: see the table for what helps.";
  return fmt::format("Take a disk of {} or more, or see the table for what else helps.", show_bytes(disk));
}

std::vector<Limit> limits_of(const DiskPlan& plan) {
  std::vector<Limit> limits;
  limits.push_back(judged({.key = "days",
                           .label = "Time for which recordings are kept",
                           .kind = Kind::duration,
                           .value = plan.kept().value(),
                           .bound = plan.wanted.value(),
                           .at_most = false,
                           .source = "your own value: how long they shall be kept",
                           .remedy = days_remedy(plan)},
                          0.0));
  if (plan.write_rate) {
    limits.push_back(
        judged({.key = "write-rate",
                .label = "Written while all cameras are recorded",
                .kind = Kind::byte_rate,
                .value = plan.peak().value(),
                .bound = plan.write_rate->value(),
                .at_most = true,
                .source = is_card(plan.medium)
                              ? "speed class A1 (10 MB/s), as quoted by others, unless you gave your own"
                              : "your own value",
                .remedy = "Take a solid-state disk, or fewer bytes or pictures a second."},
               0.3));
  }
  if (const auto life = plan.life()) {
    limits.push_back(
        judged({.key = "life",
                .label = "Life of the disk at that rate",
                .kind = Kind::duration,
                .value = life->value(),
                .bound = plan.life_wanted.value(),
                .at_most = false,
                .source = endurance_words(plan),
                .remedy = "Record around events only, take a larger disk, one made for recording "
                          "or a hard disk, and give `endurance` from its datasheet."},
               0.2));
  }
  return limits;
}

std::vector<Figure> figures_of(const DiskPlan& plan) {
  std::vector<Figure> out = {
      {.key = "kept",
       .label = "Recordings are kept for",
       .kind = Kind::duration,
       .value = plan.kept().value()},
      {.key = "daily",
       .label = "Written a day",
       .kind = Kind::bytes,
       .value = plan.average().value() * 86400},
      {.key = "needed",
       .label = fmt::format("Smallest disk for {}", show_days(plan.wanted)),
       .kind = Kind::bytes,
       .value = shown_at_least(plan.needed().value(), Kind::bytes)},
      {.key = "disk",
       .label = "Disk",
       .kind = Kind::bytes,
       .value = plan.disk.value(),
       .note = !plan.disk_found                   ? ""
               : plan.disk > usual_disks().back() ? "several together: none so large is usual"
                                                  : "the smallest usual size for that"},
      {.key = "room",
       .label = "Of it for recordings",
       .kind = Kind::bytes,
       .value = plan.recordings().value()},
      {.key = "write-rate",
       .label = "Written while all cameras are recorded",
       .kind = Kind::byte_rate,
       .value = plan.peak().value()},
  };
  if (const auto endures = plan.endures()) {
    out.push_back({.key = "endures",
                   .label = "May be written in its life",
                   .kind = Kind::bytes,
                   .value = endures->value(),
                   .note = endurance_words(plan)});
    out.push_back({.key = "life", .label = "Lasts", .kind = Kind::duration, .value = plan.life()->value()});
  }
  return out;
}

std::string headline_of(const DiskPlan& plan) {
  const std::string cameras = fmt::format("{} camera{}", plan.cameras, plan.cameras == 1 ? "" : "s");
  const std::string lasts =
      plan.life() ? fmt::format(", and the disk lasts {}", life_words(plan)) : std::string();
  if (plan.disk_found) {
    return fmt::format("{} kept for {} need a disk of {}: {} keeps {}{}", cameras, show_days(plan.wanted),
                       show_value(shown_at_least(plan.needed().value(), Kind::bytes), Kind::bytes),
                       show_bytes(plan.disk), show_days(plan.kept()), lasts);
  }
  return fmt::format("On {}, what {} send is kept for {}{}", show_bytes(plan.disk), cameras,
                     show_days(plan.kept()), lasts);
}

base::Result<Answer> answer(const Values& values) {
  const DiskPlan plan = plan_of(values);
  if (plan.disk > kLargestDisk) {
    return base::Error(
        base::ErrorCode::invalid_value, "disk: days",
        fmt::format("{} need {} of disk, more than the {} where this sum ends", show_days(plan.wanted),
                    show_bytes(plan.needed()), show_bytes(kLargestDisk)),
        "keep them for fewer days, or record fewer cameras, bytes or pictures a second, or "
        "around events only");
  }
  if (plan.recordings() <= 0_B) {
    return base::Error(
        base::ErrorCode::invalid_value, "disk: disk",
        fmt::format("of {} nothing is left for recordings once {} are taken, {} kept free and {} "
                    "kept back",
                    show_bytes(plan.disk), show_bytes(plan.room.taken), show_bytes(plan.room.keep_free),
                    show_value(plan.room.reserved, Kind::ratio)),
        "give a larger `disk`, or less for `taken` or `keep-free`");
  }
  Answer out;
  out.headline = headline_of(plan);
  out.figures = figures_of(plan);
  out.limits = limits_of(plan);
  out.tables = {changes_table(plan), sizes_table(plan)};
  out.steps = disk_steps(plan);
  out.notes = {
      {.text = "What a person keeps is never deleted by a rule: it takes its room from what comes after."},
      {.text = "A card that holds the system as well takes the station down with it when it is worn.",
       .remedy = "Put recordings on a disk of their own."},
  };
  out.drawing = disk_drawing(plan);
  return out;
}

}  // namespace

Subject disk_subject() {
  return {
      .key = "disk",
      .title = "Disk",
      .question =
          "How long are recordings kept, which disk does a wish for days need, and how long does it "
          "last?",
      .fields = kFields,
      .answer = &answer,
  };
}

}  // namespace rookery::plan
