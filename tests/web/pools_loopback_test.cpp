// Nobody waits for another's disk: who uses which threads.
#include <fcntl.h>
#include <sys/stat.h>

#include <future>

#include "tests/web/socket_page.h"
#include "tests/web/web_station.h"
#include "web/connection.h"
#include "web/services.h"

namespace rookery::test {
namespace {

// Keeps every thread of a pool busy until it is let go, as a disk does that answers nobody.
class HeldPool {
 public:
  explicit HeldPool(asio::thread_pool& pool) : let_go_(go_.get_future().share()) {
    // More than the pool has threads.
    for (int i = 0; i < 64; ++i) asio::post(pool, [go = let_go_] { go.wait(); });
  }
  ~HeldPool() { go_.set_value(); }
  HeldPool(const HeldPool&) = delete;
  HeldPool& operator=(const HeldPool&) = delete;

 private:
  std::promise<void> go_;
  std::shared_future<void> let_go_;
};

TEST(Pools, ADiskThatAnswersNobodyKeepsNoLivePictureWaiting) {
  WebStation hall;
  hall.add_camera("anvil");
  hall.push("anvil", make_picture(640, 480, 1));
  const HeldPool disk(hall.station().reading());
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", hall.owner()).status, 200U);
  const Answer small = hall.ask("GET", "/live/anvil.jpg?width=320", hall.owner());
  EXPECT_EQ(small.status, 200U);
  EXPECT_LT(small.body.size(), make_picture(640, 480, 1).size());
  Page page(hall, hall.owner());
  page.send(show({{"anvil", 0}}, 320));
  EXPECT_TRUE(page.picture());
}

// A FIFO that nobody writes to is a file whose opening waits.
TEST(Pools, AFileThatIsSlowToOpenKeepsNoConnectionWaiting) {
  WebStation hall;
  const auto file = hall.home() / "slow";
  ASSERT_EQ(::mkfifo(file.c_str(), 0600), 0);
  const auto services = std::make_shared<web::Services>(hall.station(), web::ServerOptions{}, true);
  asio::io_context io;
  asio::ip::tcp::acceptor acceptor(io, {asio::ip::address_v4::loopback(), 0});
  asio::ip::tcp::socket viewer(io);
  viewer.connect(acceptor.local_endpoint());
  auto connection = std::make_shared<web::Connection>(services, acceptor.accept(io));
  auto work = asio::make_work_guard(io);
  std::thread thread([&io] { io.run(); });
  web::Response response;
  response.body = web::FilePiece{file, 0, 5};
  auto answering = connection->respond(std::move(response), false, false);
  auto answered = asio::co_spawn(io, std::move(answering), asio::use_future);
  // The only thread of this context goes on while the file is being opened.
  auto free = asio::post(io, asio::use_future);
  EXPECT_EQ(free.wait_for(kDeadline), std::future_status::ready);
  const int writer = ::open(file.c_str(), O_WRONLY);
  ASSERT_GE(writer, 0);
  EXPECT_EQ(::write(writer, "hello", 5), 5);
  EXPECT_TRUE(answered.get());
  ::close(writer);
  work.reset();
  connection.reset();
  thread.join();
}

}  // namespace
}  // namespace rookery::test
