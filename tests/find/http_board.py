"""A board's two ports, for tests in namespaces: stills on 80, the stream on 81. Prints each request it hears.

http_board.py [camera | page | own]: a page answers everything with a web page; "own" has its still and its stream
where no shipped profile looks.
"""
import base64
import http.server
import sys
import threading

# 16×16, grey.
JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDABALDA4MChAODQ4SERATGCgaGBYWGDEjJR0oOjM9PDkzODdASFxOQERXRTc4UG1RV19i"
    "Z2hnPk1xeXBkeFxlZ2P/wAALCAAQABABAREA/8QAFQABAQAAAAAAAAAAAAAAAAAAAAH/xAAUEAEAAAAAAAAAAAAAAAAAAAAA/9oA"
    "CAEBAAA/AIA//9k="
)
KIND = sys.argv[1] if len(sys.argv) > 1 else "camera"
STILL = (80, "/picture") if KIND == "own" else (80, "/still")
STREAM = (9000, "/eye") if KIND == "own" else (81, "/stream")


class Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_GET(self):
        port = self.server.server_address[1]
        print(f"{port} {self.path}", flush=True)
        if KIND != "page" and (port, self.path) == STILL:
            return self.answer(200, "image/jpeg", JPEG)
        if KIND != "page" and (port, self.path) == STREAM:
            self.send_response(200)
            self.send_header("Content-Type", "multipart/x-mixed-replace;boundary=hall")
            self.end_headers()
            try:
                while True:
                    self.wfile.write(b"\r\n--hall\r\nContent-Type: image/jpeg\r\nContent-Length: %d\r\n\r\n" % len(JPEG))
                    self.wfile.write(JPEG)
                    threading.Event().wait(0.1)
            except OSError:
                return None
        return self.answer(200 if KIND == "page" else 404, "text/html", b"<title>Counter</title>")

    def answer(self, status, kind, body):
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        pass


servers = [http.server.ThreadingHTTPServer(("", port), Handler) for port in (80, STREAM[0])]
for server in servers:
    threading.Thread(target=server.serve_forever, daemon=True).start()
print("ready", flush=True)
threading.Event().wait()
