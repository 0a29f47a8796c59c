#include "camera/found_words.h"

namespace rookery::camera {

std::string answer_words(const FoundBoard& board) {
  if (board.addresses.empty()) return "its address was not answered";
  if (!board.answers) return board.known ? "not asked: known" : "not asked";
  switch (board.answers->kind) {
    case BoardAnswers::Kind::camera:
      if (board.answers->stream_address.empty()) return "still";
      return board.answers->still_address.empty() ? "stream" : "still, stream";
    case BoardAnswers::Kind::wants_sign_in:
      return "wants a sign-in";
    case BoardAnswers::Kind::no_camera:
      return "no picture";
    case BoardAnswers::Kind::busy:
      return "takes connections, says nothing";
    case BoardAnswers::Kind::silent:
      return "no connection";
  }
  return "not asked";
}

std::string camera_words(const FoundBoard& board) {
  if (board.known) {
    const std::string& name = board.known->camera.text();
    const bool weak = board.known->sureness == Sureness::weak;
    if (!board.known->at_settings_address) return name + (weak ? ", moved here?" : ", moved here");
    return weak ? name + "?" : name;
  }
  if (board.answers && board.answers->kind == BoardAnswers::Kind::no_camera) return "-";
  return "new";
}

std::string maker_words(const FoundBoard& board) {
  if (!board.hardware) return {};
  return board.hardware->maker_part() + (board.hardware->is_local() ? ", locally administered" : "");
}

std::string suggested_name(const FoundBoard& board) {
  std::string from = board.name;
  if (const auto local = from.rfind(".local"); local != std::string::npos && local + 6 == from.size())
    from.resize(local);
  std::string out;
  for (char c : from) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    const bool good = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (good) {
      out += c;
    } else if (!out.empty() && out.back() != '-') {
      out += '-';
    }
  }
  out.resize(std::min(out.size(), base::CameraName::kMaxLength));
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out.empty() ? "camera" : out;
}

}  // namespace rookery::camera
