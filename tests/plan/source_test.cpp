// Where each value comes from is said as sure as it is, and no surer: every source of every sum against the
// list of what was read in the source itself, what others quote of it, what is from memory, and what is only
// usual.
#include <gtest/gtest.h>

#include <array>
#include <map>
#include <regex>
#include <string>
#include <vector>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

// How sure a source is, and the words that have to be beside it.
struct Sureness {
  std::string_view key;
  std::string_view words;
};
constexpr std::array kSureness = {
    Sureness{"read", ""},      // in the source itself
    Sureness{"reckoned", ""},  // a formula, or the person's own value
    Sureness{"quoted", "(as quoted by others|as sellers state it)"},
    Sureness{"memory", "from memory"},
    Sureness{"usual", "common practice"},
    Sureness{"not known", "not known for this kind"},
};

// A part of a source, up to a semicolon, and how sure it is.
struct Known {
  std::string_view part;
  std::vector<std::string_view> sure;
};

const std::vector<Known>& known() {
  static const std::vector<Known> kKnown = {
      // 1 Copper wire
      {"IEC 60228 for class 1, 2 and 5 \\(0.5 to 1 mm² .*, larger ones .*\\)", {"quoted", "memory"}},
      {"ASTM B258 for gauges", {"read"}},
      {"IEC 60028 for copper", {"read"}},
      {"a twelfth of what melts the wire \\(Preece\\): .* NEC 240\\.4\\(D\\), .*", {"usual", "memory"}},
      // 2 The radio chip and its module
      {"the module's data sheet", {"read"}},
      {"a board's currents? as measured, .*", {"quoted"}},
      {"least supply of the module, chip maker's data sheet", {"read"}},
      {"brown-out at .* V, chip maker's sources", {"read"}},
      {"board-most: 5 V parts \\+ 10 %, .*", {"usual"}},
      {"asleep: the board's maker", {"read"}},
      // 3 The board's linear regulator
      {"1117 family, .* from data sheets", {"quoted"}},
      {"1117 family: dropout .* from data sheets, output's range .*", {"quoted", "memory"}},
      {"the most that a 1117 regulator may need: .*", {"quoted", "memory"}},
      {"3\\.3 V and 1\\.3 V dropout of a 1117 regulator, .* from data sheets", {"quoted"}},
      {"in the worst case up to .* V, its output's range .*", {"memory"}},
      {"least current limit of the 1117 family, .*", {"quoted"}},
      {"46 to over 90 K/W, .*", {"quoted"}},
      {"usual limit of such parts, .*", {"memory"}},
      // 4 Adjustable buck regulators
      {"(the spread is that of the regulator's reference: |Uout = .*, |.* at the least, "
       ")?(LM2596|MP1584|MP2307) "
       "datasheet",
       {"read"}},
      {"its reference from memory, with the range of the 40 V kind", {"memory"}},
      {"its reference as quoted by others", {"quoted"}},
      {"the most that it may be asked for and 1\\.16 V lost in its switch, computed from the LM2596 "
       "datasheet's "
       "example",
       {"reckoned"}},
      {"the most that it may be asked for and 1\\.16 V of the 40 V kind: .*", {"not known"}},
      {"0\\.75 to 0\\.80: below what is computed for 24 V from the LM2596 datasheet", {"reckoned"}},
      {"0\\.80 to 0\\.85, .*", {"memory"}},
      {"0\\.75 to 0\\.80 of the 40 V kind: .*", {"not known"}},
      // 5 USB
      {"USB( 2\\.0)?: .*4\\.(75|40) .*(mA|5\\.25 V), as quoted by others", {"quoted"}},
      {"USB: 4\\.75 to 5\\.25 V", {"reckoned"}},  // what follows it says that both are quoted
      {"(USB 3: 900 mA|BC 1\\.2 charging port: 1\\.5 A), .*", {"quoted"}},
      {"2 A, .*: read its label", {"usual"}},
      {"USB 2\\.0, section 7\\.2\\.2, .*", {"memory"}},
      {"125 mV a conductor at .* \\(USB 2\\.0, 7\\.2\\.2\\) less two contacts, .*", {"memory"}},
      {"5 m for the signal \\(USB 2\\.0, 26 ns\\), .*", {"quoted"}},
      {"USB 2\\.0, 7\\.2\\.2 \\(125 mV a conductor\\) and 30 mΩ a contact, .*", {"memory"}},
      {"26 ns at 5\\.2 ns a metre .*", {"quoted"}},
      {"(USB .*port|charging port|port of a hub .*), the USB standards .*", {"quoted"}},
      {". × .* B in each microframe \\(USB 2\\.0, .*\\), less 12 B of header a packet, .*",
       {"quoted", "memory"}},
      {"USB 2\\.0: 8000 microframes a second, .*", {"quoted"}},
      {"the header from memory \\(USB video class\\)", {"memory"}},
      {"USB 2\\.0, 5\\.11\\.3, as Linux reckons it", {"read"}},
      {"Linux: at most 100 µs (of each 125 )?may be periodic", {"read"}},
      {"YUY2 has two bytes a pixel", {"reckoned"}},
      {"builders saw up to 49 kB at 800×600", {"read"}},
      {"give `picture` to have your own", {"reckoned"}},
      // 6 Power banks
      {"many banks switch off below 100 mA for 30 s, one common converter chip below 45 mA for 32 s, .*",
       {"quoted"}},
      {"30 s of many banks, .*", {"quoted"}},
      {"cut-off as quoted by others", {"quoted"}},
      {"η 0\\.80 to 0\\.93, .*", {"quoted"}},
      {"common practice: 3\\.7 V, of some cells 3\\.6 V", {"usual"}},
      {"IEC 61960-3 rates the capacity .*", {"memory"}},
      {"from memory of makers' discharge curves: .*", {"memory"}},
      {"the slow last fifth, .*", {"memory"}},
      {"a fifth above it and a period of nine tenths .*", {"usual"}},
      {"twice the heat is .*", {"usual"}},
      // 7 Bulk capacitor
      {"chip maker's guide", {"read"}},
      {"USB 2\\.0, 7\\.2\\.4\\.1, .*", {"quoted"}},
      {"common practice, no source: an old or cold electrolytic .*", {"usual"}},
      // 8 Radio
      {"5744 B under way, then a round trip of .*", {"reckoned"}},
      {"the chip maker's (SDK|published TCP rate in the open)", {"read"}},
      {"the board's window of 5744 B holds four \\(chip maker's SDK\\)", {"read"}},
      {"RFC 5681, 4\\.2 for acknowledgements, .*", {"memory"}},
      {"−82 dBm for MCS 0 \\(IEEE 802\\.11-2016, .*", {"quoted"}},
      {"table 19-23 from memory\\) and .* dB in hand", {"memory"}},
      {"IEEE 802\\.11-2016, .*", {"quoted"}},
      {"table 19-23, its number .*", {"memory"}},
      {"IEEE 802\\.11", {"read"}},
      {"times from ns-3", {"read"}},
      {"the HT preamble of 36 µs, .*", {"memory"}},
      {"Bianchi, IEEE JSAC 2000", {"read"}},
      {"Bianchi, with the frozen back-off of ns-3's bianchi_11g_difs", {"read"}},
      {"AIFS 37 µs .*", {"memory"}},
      // 9 and 11 Optics, flicker
      {"lines a frame from memory, frames a second from the maker's datasheet v1\\.6, .*",
       {"quoted", "memory"}},
      {"68° .*, taken as the diagonal", {"quoted"}},
      {"(common practice|two pixels at least, common practice), no source", {"usual"}},
      // 10 Pixels on target
      {"IEC/EN 62676-4:2014, as quoted by others", {"quoted"}},
      {"IEC/EN 62676-4:2014, from memory", {"memory"}},
      // 13 Storage
      {"ext4 keeps back 5 %", {"read"}},
      {"speed class A1 \\(10 MB/s\\), .*", {"quoted"}},
      {"117 TB for each 128 GB, the low end .*", {"quoted"}},
      {".* cycles, common practice, no source", {"usual"}},
      {"amplification .*, from memory: 1\\.1 to 3", {"memory"}},
      // 14 Heat
      {"the sensor works from −30 to 70 °C, .*", {"memory"}},
      // The person's own, and what is arithmetic, geometry or Ohm's law.
      {"(your own (value|budget|prices)|unless you gave your own).*", {"reckoned"}},
      {"(Ohm's law|arithmetic|geometry|thin lens|the circle of confusion|mean of a sine|charge is current|a "
       "capacitor "
       "that is fed|a buck regulator's usual equations|the same, turned round|the sum is the most|solved to "
       "the "
       "root).*",
       {"reckoned"}},
      {"(board-most|asleep the board draws nothing|a regulator takes the more|the source's fuse is "
       "taken|nothing "
       "comes from the supply|all of it less the share|the channel to itself|the oldest recordings|the "
       "pictures' "
       "own bytes|the file's few bytes|the station's own setting|spares take|colour and compression|K is the "
       "number|right to|a layer stands|its near edge|lines and rate as given).*",
       {"reckoned"}},
  };
  return kKnown;
}

std::vector<std::string> parts_of(const std::string& source) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at <= source.size();) {
    const std::size_t end = std::min(source.find("; ", at), source.size());
    out.push_back(source.substr(at, end - at));
    at = end + 2;
  }
  return out;
}

// Every example, each choice in it, and what may be absent given as well.
std::vector<Planned> all_answers() {
  std::vector<Planned> out;
  const auto add = [&](const Subject& subject, std::vector<Given> given) {
    if (auto planned = plan(subject, given)) out.push_back(std::move(*planned));
  };
  for (const Subject& subject : subjects()) {
    const std::vector<Given> example = example_of(subject);
    add(subject, example);
    for (const Field& field : subject.fields) {
      std::vector<std::string> texts;
      for (const Choice& choice : field.choices) texts.emplace_back(choice.key);
      if (field.choices.empty()) texts.emplace_back(field.example);
      if (!field.least.empty())
        texts.insert(texts.end(), {std::string(field.least), std::string(field.most)});
      for (const std::string& text : texts) {
        std::vector<Given> given = example;
        std::erase_if(given, [&](const Given& one) { return one.key == field.key; });
        given.push_back({std::string(field.key), text});
        add(subject, given);
      }
    }
  }
  const auto also = [&](std::string_view key, std::vector<Given> given) { add(*find_subject(key), given); };
  for (const std::string source : {"usb-port", "usb3-port", "usb-low-power", "charger", "power-bank"})
    also("supply", {{"source", source}, {"regulator", "none"}, {"length", "1 m"}, {"size", "24 AWG"}});
  for (const std::string regulator : {"buck-40", "buck-28", "buck-23"})
    also("supply", {{"source", "supply-12"},
                    {"regulator", regulator},
                    {"length", "9 m"},
                    {"size", "0.1 mm2"},
                    {"source-current", "1 A"}});
  for (const std::string every : {"25 s", "10 min"})
    also("battery",
         {{"kind", "bank"}, {"capacity", "10 Ah"}, {"use", "stills"}, {"every", every}, {"wanted", "1 h"}});
  also("usb", {{"cameras", "2"},
               {"width", "640"},
               {"height", "480"},
               {"rate", "1/s"},
               {"format", "mjpeg"},
               {"cable", "1 m"}});
  also("radio", {{"cameras", "2"}, {"picture", "30 kB"}, {"rate", "1/s"}, {"round-trip", "1 ms"}});
  also("view", {{"distance", "1 m"},
                {"bed-width", "220 mm"},
                {"bed-depth", "220 mm"},
                {"tilt", "45 deg"},
                {"exposure", "5 ms"},
                {"speed", "1 m/s"}});
  also("disk", {{"cameras", "2"},
                {"picture", "30 kB"},
                {"rate", "1/s"},
                {"medium", "ssd"},
                {"endurance", "100 TB"},
                {"write-rate", "1 GB/s"}});
  also("cost", {{"cameras", "2"}, {"parts", "board 10"}, {"budget", "100"}});
  return out;
}

TEST(Sources, AreSaidAsSureAsTheyAreAndNoSurer) {
  std::map<std::string, std::string> sources;  // and where each stands
  for (const Planned& one : all_answers()) {
    for (const Limit& limit : one.answer.limits) {
      EXPECT_FALSE(limit.source.empty()) << one.answer.subject << ": " << limit.key;
      sources.emplace(limit.source, one.answer.subject + ": " + limit.key);
    }
    for (const Step& step : one.answer.steps) {
      EXPECT_FALSE(step.source.empty()) << one.answer.subject << ": " << step.what;
      sources.emplace(step.source, one.answer.subject + ": " + step.what);
    }
  }
  std::vector<int> used(known().size());
  for (const auto& [source, where] : sources) {
    for (const std::string& part : parts_of(source)) {
      bool listed = false;
      for (std::size_t i = 0; i < known().size(); ++i) {
        if (!std::regex_match(part, std::regex(std::string(known()[i].part)))) continue;
        listed = true;
        ++used[i];
        for (const Sureness& sureness : kSureness) {
          const auto& sure = known()[i].sure;
          const bool is = std::find(sure.begin(), sure.end(), sureness.key) != sure.end();
          if (!is || sureness.words.empty()) continue;
          EXPECT_TRUE(std::regex_search(part, std::regex(std::string(sureness.words))))
              << where << ": \"" << part << "\" is " << sureness.key << " and does not say so";
        }
        break;
      }
      EXPECT_TRUE(listed) << where << ": \"" << part << "\" is not among the sources that are known";
    }
  }
  for (std::size_t i = 0; i < used.size(); ++i)
    EXPECT_GT(used[i], 0) << "nothing says \"" << known()[i].part << "\" any more";
}

// Where a preset comes from: what is quoted says by whom it is known here.
TEST(Sources, OfPresetsAreSaidTheSameWay) {
  const std::regex quoted("quoted(?! by others)");
  const std::regex by_others("as quoted by others");
  for (const Subject& subject : subjects()) {
    for (const Field& field : subject.fields) {
      const std::string why(field.why);
      EXPECT_FALSE(std::regex_search(why, quoted)) << subject.key << ": " << field.key << ": " << why;
      if (why.find("quoted") != std::string::npos) {
        EXPECT_TRUE(std::regex_search(why, by_others)) << subject.key << ": " << field.key << ": " << why;
      }
    }
  }
}

}  // namespace
}  // namespace rookery::plan
