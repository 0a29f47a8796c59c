// Where a command's pictures come from: a film, or a span of a camera's recording.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "archive/film_reader.h"
#include "archive/recorded_pictures.h"
#include "cli/cli.h"

namespace rookery::cli {

struct PicturesArgs {
  std::string what;  // a file, or a camera's name
  std::string from;
  std::string to;
  double frames_per_s = archive::FilmSpan::kUsualRate;
};

// FILE|NAME, --from, --to, --frames-per-s.
void add_pictures_options(CLI::App& command, PicturesArgs& args);

// What was asked for, read once: opens the same pictures each time.
class PicturesFrom {
 public:
  // command: for errors. Errors: not_found (neither file nor camera), invalid_value (a time), those of
  // open_home().
  static base::Result<PicturesFrom> parse(const PicturesArgs& args, const Context& context,
                                          const std::string& command);

  bool is_film() const { return !catalog_; }
  archive::Catalog* catalog() const { return catalog_.get(); }  // null for a film
  const std::string& what() const& { return what_; }            // the camera's name, or the file's

  // Errors: those of FilmReader::open; cancelled.
  base::Result<std::unique_ptr<archive::PictureSource>> open() const;

 private:
  std::string what_;
  archive::FilmSpan film_;
  base::WallTime from_;
  base::WallTime to_;
  std::unique_ptr<archive::Catalog> catalog_;
};

// "90", "90.5", "1:30", "1:02:03.5". Errors: invalid_value.
base::Result<base::Microseconds> parse_film_time(const std::string& text, const std::string& command);

}  // namespace rookery::cli
