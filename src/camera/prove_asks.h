// Inner: what an acceptance test asks a board besides its stream. For prove.cpp only.
#pragma once

#include <boost/asio/awaitable.hpp>

#include "camera/measurements.h"
#include "net/http_client.h"

namespace rookery::camera {

// The whole number that stands beside a key in flat JSON, as boards tell their state.
std::optional<int> value_in_status(std::string_view json, std::string_view key);

// Each is lent `client`, which outlives the call and is closed when it ends. Errors of all: those of
// HttpClient.

// One whole still. Errors also: malformed when it is no whole JPEG, refused for another status than 200.
boost::asio::awaitable<base::Result<StillSeen>> fetch_still(net::HttpClient& client, net::Address address,
                                                            const base::Clock& clock);

// One control request. Errors also: refused for a status that is no success.
boost::asio::awaitable<base::Result<void>> fetch_control(net::HttpClient& client, net::Address address);

// What the board's status (flat JSON) says of `key`. Errors also: refused for a status that is no success,
// not_found when it says no whole number for it.
boost::asio::awaitable<base::Result<int>> fetch_status_value(net::HttpClient& client, net::Address address,
                                                             std::string key);

// Asks for the stream a second time and takes what comes first of it. Never fails.
boost::asio::awaitable<SecondViewer::Answer> ask_as_second_viewer(net::HttpClient& client,
                                                                  net::Address address);

}  // namespace rookery::camera
