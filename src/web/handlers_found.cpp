#include "station/finding.h"
#include "web/answers.h"
#include "web/found_json.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;

Response get_found(Call& call) {
  const station::FoundView view = call.station().finding().view();
  if (view.error) return problem(*view.error);
  json::array found;
  for (const camera::FoundBoard& board : view.boards) found.push_back(found_json(board));
  return json_answer({{"found", std::move(found)},
                      {"settled", view.settled},
                      {"sweeping", view.sweeping},
                      {"sweep_text", view.sweep_text}});
}

Response post_found_sweep(Call& call) {
  call.station().finding().sweep();
  return nothing_to_say();
}

}  // namespace rookery::web
