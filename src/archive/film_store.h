// The films of jobs: wanted, made, or why not; in the catalog. Their files lie in <home>/films.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "archive/disk.h"
#include "base/name.h"
#include "base/result.h"
#include "base/time.h"

namespace rookery::archive {

enum class FilmState : std::uint8_t {
  wanted,  // to be made, or being made; also after a restart
  made,    // the file is there
  failed,  // `told` says why
};
// "wanted", "made", "failed".
std::string_view name_of(FilmState state);

// A job's lapse, as MP4.
struct JobFilm {
  std::int64_t job = 0;
  double length_s = 30;  // 1 to 3600
  FilmState state = FilmState::wanted;
  std::uint64_t bytes = 0;               // of the file that is there
  std::optional<base::WallTime> made{};  // none: no file is there; while it is made anew the old one is
  std::string told{};                    // why it failed, or what is to be known of it
  // How often its making was begun and neither came to an end nor was put back: the program ended meanwhile.
  int begun = 0;
};

// <home>/films/JOB.mp4.
std::filesystem::path film_file(const std::filesystem::path& home, std::int64_t job);
// Also where there is none. Errors: those of Disk::remove but not_found.
base::Result<void> remove_film_file(Disk& disk, const std::filesystem::path& home, std::int64_t job);

// any-thread. Errors: those of Catalog::write and read.
class FilmStore {
 public:
  explicit FilmStore(Catalog& catalog) : catalog_(catalog) {}

  // Wants a film of the job, also where there is one already: it is made anew. Errors: not_found (no such
  // job), busy (it is under way), invalid_value (length).
  base::Result<JobFilm> want(std::int64_t job, double length_s);
  // For use inside a transaction of the caller's.
  static void want_in(SQLite::Database& db, std::int64_t job, double length_s);
  // Before it is made. It changes nothing where there is no such film any more.
  base::Result<void> note_begun(std::int64_t job);
  // It was begun, and left alone in good order: a full disk may keep that waiting.
  void put_back_later(std::int64_t job);
  // Errors: not_found: the job was forgotten meanwhile.
  base::Result<void> note_made(std::int64_t job, std::uint64_t bytes, const std::string& told,
                               base::WallTime at);
  // One that there was before stays made. Errors: as note_made.
  base::Result<void> note_failed(std::int64_t job, const std::string& told);
  base::Result<void> forget(std::int64_t job);

  base::Result<std::optional<JobFilm>> find(std::int64_t job) const;
  base::Result<std::optional<JobFilm>> next_wanted() const;  // the one that has waited longest
  base::Result<std::vector<JobFilm>> all() const;            // by job
  // The begin of the camera's first job whose stills a film is still to be made of: one is wanted; or, where
  // each job ends with one, it is under way.
  base::Result<std::optional<base::WallTime>> stills_wanted_from(const base::CameraName& camera,
                                                                 bool each_ends_with_one) const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
