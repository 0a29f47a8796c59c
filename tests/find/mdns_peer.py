"""Announces services with python3-zeroconf, as told line by line through a named pipe; answers "ok" to each.

  publish {"instance", "type", "host", "port", "addresses": […], "txt": {…} | "raw_txt": hex, "careless": bool}
  host {"host", "address"}       answers for a host name and announces no service, as many boards do
  goodbye INSTANCE TYPE          (JSON list)
  many {"count", "prefix", "address"}
  listen SECONDS                 prints what queries were heard, one hexadecimal line each, then "ok"
  browse {"type", "seconds"}     prints one JSON line a service, then "ok"
  noise {"seed", "count"}        sends so many broken packets to everybody

Each publisher that is "careless" announces without asking first whether the name is taken.
"""
import ipaddress
import json
import random
import socket
import struct
import sys
import time
from concurrent.futures import ThreadPoolExecutor

from zeroconf import IPVersion, ServiceBrowser, ServiceInfo, Zeroconf

zeroconf = Zeroconf(ip_version=IPVersion.V4Only)
published = {}


def info_of(what):
    properties = bytes.fromhex(what["raw_txt"]) if "raw_txt" in what else what.get("txt", {})
    return ServiceInfo(
        f'{what["type"]}.local.',
        f'{what["instance"]}.{what["type"]}.local.',
        port=what["port"],
        properties=properties,
        server=what["host"] + ".",
        addresses=[ipaddress.ip_address(one).packed for one in what["addresses"]],
    )


def publish(what):
    key = (what["instance"], what["type"])
    info = info_of(what)
    if key in published:
        zeroconf.update_service(info)
    else:
        zeroconf.register_service(info, cooperating_responders=what.get("careless", False))
    published[key] = info


def host(what):
    """Anything registered answers for the host it names; of the service nobody is told, as nobody asks for it."""
    publish({"instance": what["host"], "type": "_hall._tcp", "host": what["host"], "port": 80,
             "addresses": [what["address"]], "careless": True})


def goodbye(what):
    zeroconf.unregister_service(published.pop(tuple(what)))


def many(what):
    """All at once: one after the other, each takes its three announcements' time."""
    def one(number):
        name = f'{what["prefix"]}-{number:03}'
        publish({"instance": name, "type": "_http._tcp", "host": name + ".local", "port": 80,
                 "addresses": [str(ipaddress.ip_address(what["address"]) + number)], "careless": True})

    with ThreadPoolExecutor(what["count"]) as pool:
        list(pool.map(one, range(what["count"])))


def listen(seconds):
    heard = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    heard.bind(("224.0.0.251", 5353))
    heard.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP,
                     struct.pack("4s4s", socket.inet_aton("224.0.0.251"), socket.inet_aton("0.0.0.0")))
    heard.settimeout(0.2)
    print("listening", flush=True)
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        try:
            packet = heard.recv(9000)
        except socket.timeout:
            continue
        if packet[2] & 0x80 == 0:
            print(packet.hex(), flush=True)


class Listener:
    def add_service(self, zc, service_type, name):
        print(json.dumps(name), flush=True)

    update_service = remove_service = add_service


def browse(what):
    browser = ServiceBrowser(zeroconf, what["type"] + ".local.", Listener())
    time.sleep(what["seconds"])
    browser.cancel()


def noise(what):
    """Answers that are cut, turned and filled with chance."""
    chance = random.Random(what["seed"])
    whole = bytes.fromhex("000084000000000100000001055f68747470045f746370056c6f63616c00000c00010000119400090663616d"
                          "657261c00c" "c02b002180010000007800080000000000500000")
    sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    sender.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    sender.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    sender.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, 255)
    sender.bind(("", 5353))
    for _ in range(what["count"]):
        packet = bytearray(whole[: chance.randrange(len(whole) + 1)])
        for _ in range(chance.randrange(8)):
            if packet:
                packet[chance.randrange(len(packet))] = chance.randrange(256)
        packet += chance.randbytes(chance.randrange(40))
        sender.sendto(bytes(packet), ("224.0.0.251", 5353))


COMMANDS = {"publish": publish, "host": host, "goodbye": goodbye, "many": many, "listen": listen, "browse": browse, "noise": noise}
print("ready", flush=True)
with open(sys.argv[1], encoding="utf-8") as commands:
    for line in commands:
        command, _, rest = line.strip().partition(" ")
        COMMANDS[command](json.loads(rest))
        print("ok", flush=True)
zeroconf.close()
