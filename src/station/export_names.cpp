#include "station/export_names.h"

#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <array>

namespace rookery::station {

std::string new_export_id() {
  std::array<unsigned char, 16> random{};
  randombytes_buf(random.data(), random.size());
  std::string text;
  for (unsigned char byte : random) text += fmt::format("{:02x}", byte);
  return text;
}

std::string_view ending_of(const ExportView& view) {
  if (view.lapse) return archive::name_of(view.lapse->format);
  return view.request.format == archive::ExportFormat::mp4 ? "mp4" : "mkv";
}

std::string offered_name(const ExportView& view) {
  std::string time = base::to_rfc3339(view.request.from).substr(0, 19);
  time[10] = ' ';
  std::replace(time.begin(), time.end(), ':', '.');
  return fmt::format("{} {}Z{}.{}", view.request.camera.text(), time, view.lapse ? " lapse" : "",
                     ending_of(view));
}

}  // namespace rookery::station
