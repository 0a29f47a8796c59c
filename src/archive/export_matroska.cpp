// Export without re-encoding: the same kind of file as a segment.
#include "archive/export_writer.h"
#include "archive/matroska_writer.h"
#include "jpeg/walk.h"

namespace rookery::archive {
namespace {

class MatroskaExport final : public ExportWriter {
 public:
  MatroskaExport(std::shared_ptr<DiskFile> file, std::unique_ptr<MatroskaWriter> writer, base::WallTime date,
                 camera::PixelSize size, ExportResult& result)
      : file_(std::move(file)), writer_(std::move(writer)), date_(date), size_(size), result_(result) {}

  base::Result<void> add(const RecordedFrame& frame) override {
    if (auto size = size_of(frame); size && *size != size_) ++result_.resized;
    return writer_->add(std::chrono::floor<base::Milliseconds>(frame.at - date_), frame.bytes);
  }
  base::Result<void> finish() override {
    if (auto done = writer_->finish(); !done) return done;
    return file_->sync();
  }

 private:
  std::shared_ptr<DiskFile> file_;
  std::unique_ptr<MatroskaWriter> writer_;
  base::WallTime date_;
  camera::PixelSize size_;
  ExportResult& result_;
};

}  // namespace

base::Result<camera::PixelSize> size_of(const RecordedFrame& frame) {
  const auto walked = jpeg::walk(frame.bytes);
  if (const auto* info = std::get_if<jpeg::PictureInfo>(&walked))
    return camera::PixelSize{info->width_px, info->height_px};
  return base::Error{base::ErrorCode::damaged, "export",
                     fmt::format("the frame at {} is damaged: {}", base::to_rfc3339(frame.at),
                                 jpeg::name_of(std::get<jpeg::BrokenKind>(walked)))};
}

base::Result<std::unique_ptr<ExportWriter>> begin_matroska_export(const std::filesystem::path& file,
                                                                  const base::CameraName& camera,
                                                                  const RecordedFrame& first,
                                                                  ExportResult& result) {
  auto size = size_of(first);
  if (!size) return std::move(size).error();
  auto made = real_disk().create(file);
  if (!made) return std::move(made).error();
  std::shared_ptr<DiskFile> shared{std::move(made).value()};
  auto writer = MatroskaWriter::begin(shared, {camera.text(), first.at, *size});
  if (!writer) return std::move(writer).error();
  return std::unique_ptr<ExportWriter>(
      std::make_unique<MatroskaExport>(shared, std::move(writer).value(), first.at, *size, result));
}

}  // namespace rookery::archive
