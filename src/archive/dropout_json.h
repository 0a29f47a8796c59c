// Dropouts as the API gives them, and as the catalog keeps what was told.
#pragma once

#include <string>
#include <string_view>

#include <boost/json/object.hpp>

#include "archive/dropout_store.h"

namespace rookery::archive {

// docs/api.md.
boost::json::object dropout_json(const Dropout& dropout);
// Its place in the list, for the next query's `before`: to the microsecond, else it would stand there twice.
std::string dropout_place(const Dropout& dropout);
boost::json::object summary_json(const DropoutSummary& summary);

// The ranking alone, as text, and back. Reading never fails: what is not there stays empty.
std::string ranking_text(const camera::Ranking& ranking);
camera::Ranking parse_ranking(std::string_view text);

}  // namespace rookery::archive
