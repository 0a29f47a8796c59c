#include "camera/answer.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using base::ErrorCode;

net::HttpHead head(int status, std::string type) {
  net::HttpHead out;
  out.status = status;
  if (!type.empty()) out.fields.push_back({"content-type", std::move(type)});
  return out;
}

TEST(Answer, KnowsAStreamAndAStill) {
  const auto stream = read_answer(head(200, "multipart/x-mixed-replace;boundary=word"), Source::stream);
  ASSERT_TRUE(stream.has_value());
  EXPECT_EQ(stream->kind, AnswerKind::stream);
  EXPECT_EQ(stream->boundary, "word");
  EXPECT_EQ(read_answer(head(200, "image/jpeg"), Source::stream)->kind, AnswerKind::still);
  EXPECT_EQ(read_answer(head(200, "image/jpg"), Source::stills)->kind, AnswerKind::still);
  EXPECT_EQ(read_answer(head(200, ""), Source::stills)->kind, AnswerKind::still);
  EXPECT_EQ(read_answer(head(200, "application/octet-stream"), Source::stills)->kind, AnswerKind::still);
}

TEST(Answer, RefusesWhatIsNeither) {
  EXPECT_EQ(read_answer(head(200, "multipart/x-mixed-replace"), Source::stream).error().code,
            ErrorCode::malformed);
  EXPECT_EQ(read_answer(head(200, "video/mp4"), Source::stream).error().code, ErrorCode::unsupported);
  EXPECT_EQ(read_answer(head(200, "multipart/mixed;boundary=x"), Source::stills).error().code,
            ErrorCode::unsupported);
}

TEST(Answer, APageIsExplainedWithStatusAndTitle) {
  const auto page = head(200, "text/html; charset=utf-8");
  EXPECT_EQ(read_answer(page, Source::stream)->kind, AnswerKind::page);
  const auto error = explain_page(page, "<html><TITLE lang=en>\n Kiln \t room</title>");
  EXPECT_EQ(error.code, ErrorCode::unsupported);
  EXPECT_EQ(error.detail, "a web page came instead of a picture (status 200, titled \"Kiln room\")");
  EXPECT_FALSE(error.remedy.empty());
}

TEST(Answer, EachStatusHasItsReason) {
  EXPECT_EQ(explain_page(head(404, ""), "").code, ErrorCode::not_found);
  EXPECT_EQ(explain_page(head(503, ""), "").code, ErrorCode::busy);
  EXPECT_EQ(explain_page(head(500, ""), "").code, ErrorCode::refused);
  for (const int status : {302, 400, 403, 404, 418, 429, 500, 503}) {
    const auto error = explain_page(head(status, ""), "");
    EXPECT_NE(error.detail.find(std::to_string(status)), std::string::npos);
    EXPECT_FALSE(error.remedy.empty());
  }
}

TEST(Answer, TitlesAreCutWithCare) {
  EXPECT_EQ(title_of("<p>no title"), "");
  EXPECT_EQ(title_of("<title"), "");
  EXPECT_EQ(title_of("<title>open"), "open");
  EXPECT_EQ(title_of("<title></title>"), "");
  const std::string cut = title_of("<title>" + std::string(59, 'a') + "öööö</title>");
  EXPECT_EQ(cut, std::string(59, 'a') + "…");
}

}  // namespace
}  // namespace rookery::camera
