// What a receiver may be, and that its secret goes nowhere but into the seal.
#include "notices/receiver.h"

#include <gtest/gtest.h>

namespace rookery::notices {
namespace {

Receiver webhook() {
  return {1, "hook", true, Webhook{"https://hall.example/notices", "0123456789abcdef", {}}};
}
Receiver mqtt() {
  Mqtt way;
  way.host = "broker.example";
  way.port = 8883;
  way.tls = true;
  way.user = "rookery";
  way.password = "tide-table";
  way.prefix = "hall/cameras";
  return {2, "broker", true, way};
}
Receiver mail() {
  Mail way;
  way.host = "mail.example";
  way.security = Mail::Security::tls;
  way.port = 465;
  way.user = "hall";
  way.password = "tide-table";
  way.from = "hall@example.org";
  way.to = {"marta@example.org", "ines@example.org"};
  return {3, "mail", false, way};
}

TEST(Receiver, IsWrittenAndReadWithoutItsSecret) {
  for (Receiver receiver : {webhook(), mqtt(), mail()}) {
    EXPECT_TRUE(check(receiver)) << receiver.name;
    const std::string json = way_json(receiver);
    EXPECT_EQ(json.find("tide-table"), std::string::npos);
    EXPECT_EQ(json.find("0123456789abcdef"), std::string::npos);
    auto way = read_way(kind_of(receiver), json);
    ASSERT_TRUE(way) << way.error().text();
    const std::string secret = secret_of(receiver);
    set_secret(receiver, "");
    EXPECT_EQ(*way, receiver.way);
    set_secret(receiver, secret);
    EXPECT_EQ(secret_of(receiver), secret);
  }
}

TEST(Receiver, WhatIsWrittenIsReadStrictly) {
  EXPECT_FALSE(read_way("pigeon", "{}"));
  EXPECT_FALSE(read_way("mqtt", "[]"));
  EXPECT_FALSE(read_way("mqtt", "{"));
  EXPECT_FALSE(read_way("mqtt", R"({"host":5})"));
  EXPECT_FALSE(read_way("mqtt", R"({"port":0})"));
  EXPECT_FALSE(read_way("mqtt", R"({"port":65536})"));
  EXPECT_FALSE(read_way("mqtt", R"({"hots":"x"})"));
  EXPECT_FALSE(read_way("mail", R"({"security":"maybe"})"));
  EXPECT_FALSE(read_way("mail", R"({"to":"marta@example.org"})"));
  EXPECT_FALSE(read_way("mail", R"({"to":[1]})"));
  EXPECT_EQ(std::get<Mqtt>(*read_way("mqtt", R"({"tls":true})")).port, 8883);
}

template <class Way>
bool refused(Receiver receiver, void (*change)(Way&)) {
  change(std::get<Way>(receiver.way));
  return !check(receiver).has_value();
}

TEST(Receiver, WhatCannotBeUsedIsRefused) {
  EXPECT_TRUE(refused<Webhook>(webhook(), [](Webhook& way) { way.address = "hall.example"; }));
  EXPECT_TRUE(refused<Webhook>(webhook(), [](Webhook& way) { way.address = "ftp://hall.example/"; }));
  EXPECT_TRUE(refused<Webhook>(webhook(), [](Webhook& way) { way.address = "https://a:b@hall.example/"; }));
  EXPECT_TRUE(refused<Webhook>(webhook(), [](Webhook& way) { way.secret = "short"; }));
  EXPECT_TRUE(refused<Mqtt>(mqtt(), [](Mqtt& way) { way.host.clear(); }));
  EXPECT_TRUE(refused<Mqtt>(mqtt(), [](Mqtt& way) { way.prefix = "hall/#"; }));
  EXPECT_TRUE(refused<Mqtt>(mqtt(), [](Mqtt& way) { way.prefix = "/hall"; }));
  EXPECT_TRUE(refused<Mqtt>(mqtt(), [](Mqtt& way) { way.user.clear(); }));
  EXPECT_TRUE(refused<Mail>(mail(), [](Mail& way) { way.to.clear(); }));
  EXPECT_TRUE(refused<Mail>(mail(), [](Mail& way) { way.from = "hall"; }));
  EXPECT_TRUE(refused<Mail>(mail(), [](Mail& way) { way.to = {"a@b.example\r\nBcc: c@d.example"}; }));
  EXPECT_TRUE(refused<Mail>(mail(), [](Mail& way) { way.to = {"a@b.example,c@d.example"}; }));
  EXPECT_TRUE(refused<Mail>(mail(), [](Mail& way) { way.security = Mail::Security::none; }));
  Receiver nameless = mail();
  nameless.name.clear();
  EXPECT_FALSE(check(nameless));
}

}  // namespace
}  // namespace rookery::notices
