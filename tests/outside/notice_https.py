#!/usr/bin/python3
"""An HTTPS server for tests: notice_https.py PORT STATUS [CERTIFICATE KEY]. STATUS may be two with a
colon between them: the answer to what has a still, and to what has none. Prints a JSON line a request, with the verdict of its
own reading of RFC 9421 and RFC 9530: the secret is "a secret that is long"."""
import base64
import hashlib
import hmac
import http.server
import json
import re
import ssl
import sys

SECRET = b"a secret that is long"


def is_signed(request, body):
    digest = "sha-256=:" + base64.b64encode(hashlib.sha256(body).digest()).decode() + ":"
    if request.headers["Content-Digest"] != digest:
        return False
    label, params = request.headers["Signature-Input"].split("=", 1)
    names = re.findall(r'"([^"]+)"', params[: params.index(")")])
    scheme = "https" if isinstance(request.connection, ssl.SSLSocket) else "http"
    values = {"@method": request.command, "@target-uri": f"{scheme}://{request.headers['Host']}{request.path}"}
    base = "".join(f'"{name}": {values.get(name) or request.headers[name]}\n' for name in names) + f'"@signature-params": {params}'
    code = base64.b64encode(hmac.new(SECRET, base.encode(), hashlib.sha256).digest()).decode()
    return request.headers["Signature"] == f"{label}=:{code}:"


class Handler(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        print(json.dumps({"path": self.path, "signed": is_signed(self, body), "body": json.loads(body)}), flush=True)
        with_still, _, without = sys.argv[2].partition(":")
        status = int(with_still if json.loads(body)["still"] or not without else without)
        self.send_response(status)
        if status == 302:
            self.send_header("Location", "/elsewhere")
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *_):
        pass


server = http.server.ThreadingHTTPServer(("127.0.0.1", int(sys.argv[1])), Handler)
if len(sys.argv) > 3:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(sys.argv[3], sys.argv[4])
    server.socket = context.wrap_socket(server.socket, server_side=True)
print("ready", flush=True)
server.serve_forever()
