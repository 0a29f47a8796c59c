#include "camera/settings.h"

namespace rookery::camera {

std::string_view name_of(Source source) {
  switch (source) {
    case Source::stream:
      return "stream";
    case Source::stills:
      return "stills";
    case Source::pushed:
      return "pushed";
  }
  return "stream";
}

std::optional<Source> source_of(std::string_view word) {
  for (const Source source : {Source::stream, Source::stills, Source::pushed}) {
    if (name_of(source) == word) return source;
  }
  return std::nullopt;
}

std::string_view name_of(Record record) {
  switch (record) {
    case Record::always:
      return "always";
    case Record::events:
      return "events";
    case Record::never:
      return "never";
  }
  return "always";
}

std::optional<Record> record_of(std::string_view word) {
  for (const Record record : {Record::always, Record::events, Record::never}) {
    if (name_of(record) == word) return record;
  }
  return std::nullopt;
}

bool same_board(const Settings& a, const Settings& b) {
  return a.source == b.source && a.stream_address == b.stream_address && a.still_address == b.still_address &&
         a.user == b.user && a.password == b.password && a.poll_every == b.poll_every;
}

}  // namespace rookery::camera
