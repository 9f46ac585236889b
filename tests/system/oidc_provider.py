"""A little identity provider on the loopback address: signs everybody in whom it is told to.

OpenID Connect Core 1.0, section 3.1 (code flow): metadata, authorize, token, keys; RS256 by the
cryptography package. Only for tests: it asks for no password.
"""

import base64
import json
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlencode, urlsplit

from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.hashes import SHA256

CLIENT = "barrelfit-board"


def b64(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def b64_number(number: int) -> str:
    return b64(number.to_bytes((number.bit_length() + 7) // 8, "big"))


class Identity:
    """Who signs in next, and for how long; `url` is the issuer."""

    def __init__(self) -> None:
        self.claims = {"sub": "sub-1", "email": "r.lead@shop.example", "email_verified": True}
        self.seconds = 600
        self._key = rsa.generate_private_key(public_exponent=65_537, key_size=2_048)
        self._nonces: dict[str, str] = {}
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)
        self._thread.start()

    def close(self) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()

    def metadata(self) -> dict:
        return {
            "issuer": self.url,
            "authorization_endpoint": f"{self.url}/authorize",
            "token_endpoint": f"{self.url}/token",
            "jwks_uri": f"{self.url}/keys",
            "response_types_supported": ["code"],
            "subject_types_supported": ["public"],
            "id_token_signing_alg_values_supported": ["RS256"],
        }

    def keys(self) -> dict:
        numbers = self._key.public_key().public_numbers()
        key = {"kty": "RSA", "kid": "1", "use": "sig", "alg": "RS256"}
        return {"keys": [key | {"n": b64_number(numbers.n), "e": b64_number(numbers.e)}]}

    def authorized(self, query: dict) -> str:
        code = f"code-{len(self._nonces)}"
        self._nonces[code] = query.get("nonce", [""])[0]
        back = {"code": code, "state": query["state"][0]}
        return query["redirect_uri"][0] + "?" + urlencode(back)

    def token(self, form: dict) -> dict:
        now = int(time.time_ns() / 1e9)
        claims = {"iss": self.url, "aud": CLIENT, "iat": now, "exp": now + self.seconds}
        claims |= {"nonce": self._nonces[form["code"][0]]} | self.claims
        head = b64(json.dumps({"alg": "RS256", "kid": "1"}).encode())
        text = f"{head}.{b64(json.dumps(claims).encode())}"
        signature = self._key.sign(text.encode(), padding.PKCS1v15(), SHA256())
        return {
            "access_token": "none",
            "token_type": "Bearer",
            "expires_in": self.seconds,
            "id_token": f"{text}.{b64(signature)}",
        }

    def _handler(self):
        identity = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self):
                split = urlsplit(self.path)
                if split.path == "/authorize":
                    self.send_response(302)
                    self.send_header("Location", identity.authorized(parse_qs(split.query)))
                    self.end_headers()
                elif split.path == "/keys":
                    self.say(identity.keys())
                else:
                    self.say(identity.metadata())

            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"])).decode()
                self.say(identity.token(parse_qs(body)))

            def say(self, answer):
                body = json.dumps(answer).encode()
                self.send_response(200)
                self.send_header("Content-Type", "application/json")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_words):
                pass

        return Handler


def sign_in_file(folder, identity: Identity, board_url: str):
    path = folder / "sign-in.toml"
    path.write_text(
        f'[auth]\nredirect_uri = "{board_url}/oauth2callback"\n'
        f'cookie_secret = "{"0123456789abcdef" * 2}"\nclient_id = "{CLIENT}"\n'
        'client_secret = "for tests only"\n'
        f'server_metadata_url = "{identity.url}/.well-known/openid-configuration"\n'
    )
    return path
