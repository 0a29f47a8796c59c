// A serial port whose other end is the test: a pseudo-terminal.
#include <gtest/gtest.h>

#include <fcntl.h>
#include <grp.h>
#include <pty.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>

#include "net/serial_port.h"
#include "tests/net/net_support.h"
#include "tests/support/temp_folder.h"

namespace rookery::net {
namespace {

using base::ErrorCode;
using std::chrono::seconds;

class Pty {
 public:
  Pty() {
    std::array<char, 128> name{};
    int slave = -1;
    if (::openpty(&master_, &slave, name.data(), nullptr, nullptr) != 0) throw std::runtime_error("no pty");
    ::close(slave);
    name_ = name.data();
  }
  ~Pty() { pull(); }
  Pty(const Pty&) = delete;
  Pty& operator=(const Pty&) = delete;

  void send(std::string_view text) const {
    ASSERT_EQ(::write(master_, text.data(), text.size()), static_cast<ssize_t>(text.size()));
  }
  void pull() {
    if (master_ >= 0) ::close(master_);
    master_ = -1;
  }
  const std::string& name() const& { return name_; }

 private:
  int master_ = -1;
  std::string name_;
};

class SerialPortTest : public testing::Test {
 protected:
  base::Result<SerialPort> open(const std::string& path, std::uint32_t rate = 115200) {
    return SerialPort::open(context_.get_executor(), path, {rate});
  }
  base::Result<std::optional<std::size_t>> read(SerialPort& port,
                                                std::chrono::milliseconds limit = seconds(30)) {
    return test::run(context_, port.read_some(buffer_, limit));
  }
  std::string text_of(std::size_t bytes) const { return {buffer_.data(), bytes}; }

  boost::asio::io_context context_;
  std::array<char, 256> buffer_{};
  Pty pty_;
};

TEST_F(SerialPortTest, BytesComeAsTheyWereSent) {
  auto port = open(pty_.name());
  ASSERT_TRUE(port) << port.error().text();
  const std::string all("a\r\n\x03\x04\x11\x13\x00\x7f\xff", 11);
  pty_.send(all);
  std::string got;
  while (got.size() < all.size()) {
    const auto bytes = read(*port);
    ASSERT_TRUE(bytes && *bytes);
    got += text_of(**bytes);
  }
  EXPECT_EQ(got, all);
}

TEST_F(SerialPortTest, AnyRateCanBeSetAndWhatCameBeforeIsDropped) {
  auto port = open(pty_.name(), 74880);
  ASSERT_TRUE(port) << port.error().text();
  pty_.send("old");
  for (const proto::Baud rate : proto::kUsualRates) EXPECT_TRUE(port->set_rate(rate)) << rate.bits_per_s;
  EXPECT_TRUE(port->set_rate({1234567}));
  pty_.send("new");
  const auto bytes = read(*port);
  ASSERT_TRUE(bytes && *bytes);
  EXPECT_EQ(text_of(**bytes), "new");
}

TEST_F(SerialPortTest, NothingIsNoError) {
  auto port = open(pty_.name());
  ASSERT_TRUE(port);
  const auto bytes = read(*port, std::chrono::milliseconds(1));
  ASSERT_TRUE(bytes);
  EXPECT_FALSE(*bytes);
}

TEST_F(SerialPortTest, APulledCableIsClosed) {
  auto port = open(pty_.name());
  ASSERT_TRUE(port);
  pty_.pull();
  const auto bytes = read(*port);
  ASSERT_FALSE(bytes);
  EXPECT_EQ(bytes.error().code, ErrorCode::closed);
  EXPECT_NE(bytes.error().detail.find("lead was pulled"), std::string::npos);
}

TEST_F(SerialPortTest, APortThatAnotherProgramHoldsIsTaken) {
  auto first = open(pty_.name());
  ASSERT_TRUE(first);
  const auto second = open(pty_.name());
  ASSERT_FALSE(second);
  EXPECT_EQ(second.error().code, ErrorCode::busy);
  EXPECT_NE(second.error().detail.find("another program holds"), std::string::npos);
}

TEST_F(SerialPortTest, AfterClosingItCanBeOpenedAgain) {
  { ASSERT_TRUE(open(pty_.name())); }
  EXPECT_TRUE(open(pty_.name()));
}

TEST_F(SerialPortTest, WhatIsNoPortSaysSo) {
  for (const char* path : {"/dev/null", "/dev/zero", "/"}) {
    const auto port = open(path);
    ASSERT_FALSE(port);
    EXPECT_EQ(port.error().code, ErrorCode::unsupported) << path;
    EXPECT_NE(port.error().detail.find("not a serial port"), std::string::npos) << port.error().text();
  }
}

TEST_F(SerialPortTest, AMissingPortNamesThoseThatThereAre) {
  const auto port = open("/dev/ttyUSB97");
  ASSERT_FALSE(port);
  EXPECT_EQ(port.error().code, ErrorCode::not_found);
  const auto ports = serial_ports();
  EXPECT_NE(port.error().remedy.find(ports.empty() ? "another lead" : ports.front()), std::string::npos);
}

TEST_F(SerialPortTest, APortWithoutPermissionNamesTheGroupThatMay) {
  if (::geteuid() == 0) {
    // Root may open anything: another user tries it in a child.
    ASSERT_EQ(::chown(pty_.name().c_str(), 0, 20), 0);
    ASSERT_EQ(::chmod(pty_.name().c_str(), 0660), 0);
  }
  const pid_t child = ::fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    if (::geteuid() == 0 && (::setgroups(0, nullptr) != 0 || ::setgid(65534) != 0 || ::setuid(65534) != 0))
      ::_exit(2);
    if (::geteuid() != 65534 && ::chmod(pty_.name().c_str(), 0) != 0) ::_exit(2);
    const auto port = SerialPort::open(context_.get_executor(), pty_.name(), {115200});
    const bool said =
        !port && port.error().code == ErrorCode::no_permission &&
        (::geteuid() != 65534 || port.error().remedy.find("usermod -aG dialout") != std::string::npos);
    ::_exit(said ? 0 : 1);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  EXPECT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
}

}  // namespace
}  // namespace rookery::net
