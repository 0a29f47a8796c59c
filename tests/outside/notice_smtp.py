#!/usr/bin/python3
"""An SMTP server for tests: notice_smtp.py PORT MOST [CERTIFICATE KEY]. A mail may have MOST bytes, and none goes
to nobody@example.org. With a certificate it asks for STARTTLS and for the user "hall" with
the password "tide-table". Prints a JSON line a mail, as Python's own mail reader understands it."""
import base64
import email
import email.policy
import json
import signal
import ssl
import sys

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult


class Sink:
    async def handle_RCPT(self, server, session, envelope, address, options):
        if address == "nobody@example.org":
            return "550 no such person"
        envelope.rcpt_tos.append(address)
        return "250 ok"

    async def handle_DATA(self, server, session, envelope):
        mail = email.message_from_bytes(envelope.content, policy=email.policy.default)
        still = next(mail.iter_attachments(), None)
        print(json.dumps({"from": envelope.mail_from, "to": envelope.rcpt_tos, "tls": session.ssl is not None, "subject": mail["Subject"],
                          "id": mail["Message-ID"], "date": str(mail["Date"].datetime), "text": mail.get_body(("plain",)).get_content(),
                          "defects": [str(d) for d in mail.defects], "longest": max(len(line) for line in envelope.content.split(b"\r\n")),
                          "still": base64.b64encode(still.get_content()).decode() if still else None,
                          "type": still.get_content_type() if still else None}), flush=True)
        return "250 taken"


def authenticate(server, session, envelope, mechanism, data):
    return AuthResult(success=data.login == b"hall" and data.password == b"tide-table", handled=False)


more = {}
if len(sys.argv) > 3:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(sys.argv[3], sys.argv[4])
    more = {"tls_context": context, "require_starttls": True, "auth_required": True, "authenticator": authenticate}
controller = Controller(Sink(), hostname="127.0.0.1", port=int(sys.argv[1]), data_size_limit=int(sys.argv[2]), **more)
controller.start()
print("ready", flush=True)
signal.pause()
