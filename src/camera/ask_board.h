// ask_board: whether a thing on the network answers with stills and a stream, asked politely: one connection
// at a time, one request after the other, and of a stream no more than its beginning.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/address.hpp>

#include "camera/board_places.h"

namespace rookery::camera {

class BoardRegister;

// What came of asking. immutable value.
struct BoardAnswers {
  enum class Kind {
    camera,  // a still or a stream came
    wants_sign_in,
    no_camera,  // it speaks HTTP, but gave no picture at the usual places
    busy,       // it takes connections and says nothing: another viewer may hold it
    silent,     // no connection could be made
  };
  Kind kind = Kind::silent;
  std::string still_address = {};   // empty: none was found
  std::string stream_address = {};  // empty: none was found
  std::string fingerprint = {};     // camera/fingerprint.h: of its still and stream, else of a page; or empty
  std::string detail = {};          // for people: what was wrong; may be empty
  bool operator==(const BoardAnswers&) const = default;
};

// "camera", "wants-sign-in", "no-camera", "busy", "silent".
std::string_view name_of(BoardAnswers::Kind kind);

struct AskPlan {
  boost::asio::ip::address address;
  std::vector<AskedPlace> places;           // in the order of asking, until both a still and a stream came
  std::chrono::milliseconds open{1500};     // connection and head of an answer; common practice, no source
  std::chrono::milliseconds silence{2000};  // after the head
  std::chrono::milliseconds all{8000};      // no request is begun later than that

  // Shared with the pulls of this program: what one of them is connected to is not asked, and the other way
  // round. May be null.
  std::shared_ptr<BoardRegister> boards;

  AskPlan(boost::asio::ip::address address_, std::vector<AskedPlace> places_)
      : address(std::move(address_)), places(std::move(places_)) {}
};

// Redirects to another host are not followed.
boost::asio::awaitable<BoardAnswers> ask_board(AskPlan plan);

// The host of an address, as it stands in a URL: IPv6 in brackets.
std::string host_in_url(const boost::asio::ip::address& address);

}  // namespace rookery::camera
