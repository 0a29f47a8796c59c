// What does a sum cost that draws 10 000 cases? Each subject answers its own example, read and reckoned in
// full, as for one change of a value on the page. Target: at most 20 ms each.
#include <benchmark/benchmark.h>

#include <string>

#include "plan/subject.h"

namespace {

using namespace rookery;

void answer(benchmark::State& state, const plan::Subject& subject) {
  const std::vector<plan::Given> given = plan::example_of(subject);
  for (auto _ : state) {
    auto planned = plan::plan(subject, given);
    if (!planned) {
      state.SkipWithError(planned.error().text().c_str());
      return;
    }
    benchmark::DoNotOptimize(planned->answer);
  }
}

}  // namespace

int main(int count, char** words) {
  benchmark::Initialize(&count, words);
  if (benchmark::ReportUnrecognizedArguments(count, words)) return 1;
  for (const plan::Subject& subject : plan::subjects()) {
    benchmark::RegisterBenchmark(std::string(subject.key).c_str(), answer, subject)
        ->Unit(benchmark::kMillisecond);
  }
  benchmark::RunSpecifiedBenchmarks();
  benchmark::Shutdown();
}
