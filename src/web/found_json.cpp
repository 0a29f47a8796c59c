#include "web/found_json.h"

#include <boost/json/array.hpp>

#include "camera/found_words.h"

namespace rookery::web {
namespace json = boost::json;

namespace {

json::value text_or_null(const std::string& text) {
  if (text.empty()) return nullptr;
  return json::value(text);
}

json::value answers_json(const camera::FoundBoard& board) {
  if (!board.answers) return nullptr;
  return json::object{{"kind", camera::name_of(board.answers->kind)},
                      {"still_address", text_or_null(board.answers->still_address)},
                      {"stream_address", text_or_null(board.answers->stream_address)},
                      {"detail", text_or_null(proto::printable(board.answers->detail))}};
}

json::value camera_of(const camera::FoundBoard& board) {
  if (!board.known) return nullptr;
  return json::object{{"name", board.known->camera.text()},
                      {"sureness", camera::name_of(board.known->sureness)},
                      {"by", board.known->by},
                      {"moved", !board.known->at_settings_address}};
}

}  // namespace

json::object found_json(const camera::FoundBoard& board) {
  json::array addresses, ports, types;
  for (const auto& address : board.addresses) addresses.emplace_back(address.to_string());
  for (const std::uint16_t port : board.ports) ports.emplace_back(port);
  for (const std::string& type : board.types) types.emplace_back(proto::printable(type));
  json::object txt;
  for (const auto& [key, value] : board.txt.pairs) txt[proto::printable(key)] = proto::printable(value);
  json::object out{{"key", proto::printable(board.key)},
                   {"name", text_or_null(proto::printable(board.name))},
                   {"host", text_or_null(proto::printable(board.host))},
                   {"types", std::move(types)},
                   {"addresses", std::move(addresses)},
                   {"ports", std::move(ports)},
                   {"hardware_address", nullptr},
                   {"maker_part", nullptr},
                   {"locally_administered", nullptr},
                   {"txt", std::move(txt)},
                   {"answers", answers_json(board)},
                   {"camera", camera_of(board)},
                   {"name_twice", board.name_twice},
                   {"suggested_name", camera::suggested_name(board)},
                   {"words",
                    {{"answers", camera::answer_words(board)},
                     {"camera", camera::camera_words(board)},
                     {"maker", camera::maker_words(board)}}}};
  if (board.hardware) {
    out["hardware_address"] = board.hardware->text();
    out["maker_part"] = board.hardware->maker_part();
    out["locally_administered"] = board.hardware->is_local();
  }
  return out;
}

}  // namespace rookery::web
