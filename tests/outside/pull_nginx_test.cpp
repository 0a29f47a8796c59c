// Stills, sign-in and TLS against nginx, with its own configuration in a folder of its own on loopback.
#include <gtest/gtest.h>

#include "camera/pull.h"
#include "tests/camera/pull_support.h"
#include "tests/outside/pull_program.h"
#include "tests/support/needs.h"

namespace rookery::camera::test {
namespace {

using rookery::test::free_port;
using rookery::test::Program;
using rookery::test::program_named;
using rookery::test::TempFolder;
using rookery::test::text_of_file;
using rookery::test::write_file;

class Nginx : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_PROGRAM("nginx", "nginx-light");
    ROOKERY_NEEDS_PROGRAM("openssl", "openssl");
    const std::string program = program_named("nginx");
    const std::string openssl = program_named("openssl");
    // It may give up root and must still reach its files.
    std::filesystem::permissions(root_, std::filesystem::perms::owner_all |
                                            std::filesystem::perms::group_exec |
                                            std::filesystem::perms::others_exec);
    Program certificate({openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=localhost",
                         "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-days", "2", "-keyout",
                         (root_ / "key.pem").string(), "-out", (root_ / "certificate.pem").string()},
                        (root_ / "openssl.log").string());
    ASSERT_EQ(certificate.wait(), 0) << text_of_file(root_ / "openssl.log");
    write_file(root_ / "still.jpg", text_of(rookery::test::make_picture(160, 120, 1)));
    write_file(root_ / "people", "kiln:{PLAIN}hunter2\n");
    const std::string part = fmt::format(R"(
      root {0};
      location /down {{ return 302 http://127.0.0.1:{1}/still.jpg; }}
      location /locked/ {{ alias {0}/; auth_basic "kiln room"; auth_basic_user_file {0}/people; }})",
                                         root_.string(), plain_);
    write_file(root_ / "nginx.conf", fmt::format(R"(
daemon off; master_process off; pid {0}/nginx.pid; error_log {0}/error.log;
events {{ worker_connections 64; }}
http {{
  access_log {0}/access.log;
  client_body_temp_path {0}/t1; proxy_temp_path {0}/t2; fastcgi_temp_path {0}/t3; uwsgi_temp_path {0}/t4;
  scgi_temp_path {0}/t5;
  types {{ image/jpeg jpg; text/html html; }}
  server {{ listen 127.0.0.1:{1}; {3} }}
  server {{ listen 127.0.0.1:{2} ssl; ssl_certificate {0}/certificate.pem; ssl_certificate_key {0}/key.pem; {3} }}
}})",
                                                 root_.string(), plain_, secure_, part));
    server_ = std::make_unique<Program>(
        std::vector<std::string>{program, "-p", root_.string(), "-e", (root_ / "error.log").string(), "-c",
                                 (root_ / "nginx.conf").string()},
        (root_ / "nginx.log").string());
  }

  std::unique_ptr<Pull> pull(const Settings& settings, net::TlsContext tls = nullptr) {
    auto made = std::make_unique<Pull>(running_.executor(), settings, quick(), clock_, 1, std::move(tls));
    made->start();
    return made;
  }
  static bool says(const Pull& pull, std::string_view text) {
    return eventually([&] {
      const auto error = pull.status().last_error;
      return error && error->text().find(text) != std::string::npos;
    });
  }
  std::string at(std::uint16_t port, std::string_view path, std::string_view scheme = "http") const {
    return fmt::format("{}://127.0.0.1:{}{}", scheme, port, path);
  }
  std::string logs() const { return text_of_file(root_ / "nginx.log") + text_of_file(root_ / "error.log"); }

  const TempFolder folder_;
  const std::filesystem::path root_ = folder_.path();
  const std::uint16_t plain_ = free_port();
  const std::uint16_t secure_ = free_port();
  Running running_;
  base::SystemClock clock_;
  std::unique_ptr<Program> server_;
};

TEST_F(Nginx, StillsArriveByteForByteOnOneKeptConnection) {
  const auto pulled = pull(stills_of(at(plain_, "/still.jpg")));
  const EveryFrame seen(pulled->feed());
  ASSERT_TRUE(seen.wait_for(5)) << logs();
  const std::string second = text_of(rookery::test::make_picture(160, 120, 2));
  write_file(root_ / "still.jpg", second);
  ASSERT_TRUE(eventually([&] { return text_of(pulled->feed()->latest()->bytes) == second; }));
  for (const FramePtr& frame : seen.frames()) {
    const std::string text = text_of(frame->bytes);
    EXPECT_TRUE(text == second || text == text_of(rookery::test::make_picture(160, 120, 1)));
  }
  const Counters counters = pulled->status().counters;
  EXPECT_EQ(counters.connects, 1u);
  EXPECT_EQ(counters.rejected_total(), 0u);
  expect_books_balance(counters);
}

TEST_F(Nginx, AMissingStillIsNamed) {
  const auto pulled = pull(stills_of(at(plain_, "/none.jpg")));
  EXPECT_TRUE(says(*pulled, "status 404, titled \"404 Not Found\"")) << logs();
}

TEST_F(Nginx, BasicSignIn) {
  Settings settings = stills_of(at(plain_, "/locked/still.jpg"));
  const auto pulled = pull(settings);
  const EveryFrame seen(pulled->feed());
  EXPECT_TRUE(says(*pulled, "asks for a user and password")) << logs();
  settings.user = "kiln";
  settings.password = "wrong";
  pulled->set(settings);
  EXPECT_TRUE(says(*pulled, "does not accept this user and password"));
  settings.password = "hunter2";
  pulled->set(settings);
  EXPECT_TRUE(seen.wait_for(3));
}

TEST_F(Nginx, TlsIsCheckedUnlessTheAuthorityIsKnown) {
  const auto strict = pull(stills_of(at(secure_, "/still.jpg", "https")));
  EXPECT_TRUE(says(*strict, "the certificate of 127.0.0.1 is not accepted")) << logs();
  EXPECT_EQ(strict->feed()->latest(), nullptr);

  auto known = std::make_shared<boost::asio::ssl::context>(boost::asio::ssl::context::tls_client);
  known->set_verify_mode(boost::asio::ssl::verify_peer);
  known->load_verify_file((root_ / "certificate.pem").string());
  const auto trusting = pull(stills_of(at(secure_, "/still.jpg", "https")), known);
  const EveryFrame seen(trusting->feed());
  EXPECT_TRUE(seen.wait_for(3)) << (trusting->status().last_error ? trusting->status().last_error->text()
                                                                  : logs());
  EXPECT_EQ(trusting->status().counters.connects, 1u);
}

TEST_F(Nginx, NoPasswordFollowsARedirectFromTlsToPlainHttp) {
  auto known = std::make_shared<boost::asio::ssl::context>(boost::asio::ssl::context::tls_client);
  known->set_verify_mode(boost::asio::ssl::verify_peer);
  known->load_verify_file((root_ / "certificate.pem").string());
  Settings settings = stills_of(at(secure_, "/down", "https"));
  const auto open = pull(settings, known);
  const EveryFrame seen(open->feed());
  EXPECT_TRUE(seen.wait_for(1)) << logs();
  settings.user = "kiln";
  settings.password = "hunter2";
  const auto signed_in = pull(settings, known);
  EXPECT_TRUE(says(*signed_in, "where the password would be readable")) << logs();
}

TEST_F(Nginx, TheWrongSchemeIsNamedBothWays) {
  const auto secret = pull(stills_of(at(plain_, "/still.jpg", "https")));
  EXPECT_TRUE(says(*secret, "does not speak TLS")) << logs();
  const auto open = pull(stills_of(at(secure_, "/still.jpg")));
  EXPECT_TRUE(says(*open, "The plain HTTP request was sent to HTTPS port")) << logs();
}

}  // namespace
}  // namespace rookery::camera::test
