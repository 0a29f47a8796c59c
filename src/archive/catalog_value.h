// Inner: hands on what one transaction of the catalog finds or makes.
#pragma once

#include <optional>
#include <utility>

#include "archive/catalog.h"
#include "base/result.h"

namespace rookery::archive {

// Hands on what `work` makes inside one transaction of `transact`.
template <class Value, class Transact, class Work>
base::Result<Value> out_of(Transact&& transact, Work&& work) {
  std::optional<Value> found;
  const base::Result<void> done = transact([&](SQLite::Database& db) -> base::Result<void> {
    base::Result<Value> value = work(db);
    if (!value) return value.error();
    found = std::move(*value);
    return base::ok();
  });
  if (!done) return done.error();
  return *std::move(found);
}

template <class Value, class Work>
base::Result<Value> reading(const Catalog& catalog, Work&& work) {
  return out_of<Value>([&](auto&& run) { return catalog.read(run); }, work);
}

template <class Value, class Work>
base::Result<Value> writing(Catalog& catalog, Work&& work) {
  return out_of<Value>([&](auto&& run) { return catalog.write(run); }, work);
}

}  // namespace rookery::archive
