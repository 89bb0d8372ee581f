"""Published keys, and two entries whose bytes must stay what they are for ever."""

from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

# RFC 8032 section 7.1, tests 1 to 3: secret key, public key, message, signature.
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
        "d25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
        "387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
        "4a7c15e9716ed28dc027beceea1ec40a",
    ),
]

KEY = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(RFC_8032[0][0]))
OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(RFC_8032[1][0]))
CHAIN = bytes.fromhex(RFC_8032[0][1])
OTHER_CHAIN = bytes.fromhex(RFC_8032[1][1])

# The project's own vector, settled before the code was written; hashes, signature and receipt were
# computed apart from it.
FIRST_HASH = "15d4edc19a235f8c3293fa06ed23f79675622fbc7197c48a12aeb02a6ce1ef92"
SECOND_HASH = "6335eb7dedecea25fb15eb3645e8266fcca616b35adc46ce1191cee61a8397fa"
SECOND_SIGNATURE = (
    "ca3c2894baff420113d298771bc217c6fbab94972ce161e89af7983b94b5841e"
    "b3da542c53cf279b0a2139cff27db9e1801eb40e4813d907bbd0702e71ef8c07"
)
RECEIPT_SHA256 = "1876b41e228e4c22a8f53cbdcd2dcfff9b42efefd0b5e42127558d2e531658e2"

FIRST: dict[str, Any] = {
    "at": 1772548200000000,
    "by": "system",
    "chain": CHAIN.hex(),
    "kind": "chain_opened",
    "kv": 1,
    "payload": {"name": "Harbour kitchen", "opened_because": "first start"},
    "prev": "0" * 64,
    "seq": 0,
}
SECOND: dict[str, Any] = {
    "at": 1772548260000000,
    "by": "0195f3a0c00070008000000000000001",
    "chain": CHAIN.hex(),
    "kind": "check_recorded",
    "kv": 1,
    "payload": {"as_found": ["0.4 C"], "check": "0195f3a0c0007000800000000000000a"},
    "prev": FIRST_HASH,
    "seq": 1,
}
FIRST_TEXT = (
    b'{"after":[],"at":1772548200000000,"by":"system",'
    b'"chain":"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",'
    b'"kind":"chain_opened","kv":1,'
    b'"payload":{"name":"Harbour kitchen","opened_because":"first start"},'
    b'"prev":"0000000000000000000000000000000000000000000000000000000000000000","seq":0,"v":1}'
)
SECOND_TEXT = (
    b'{"after":[],"at":1772548260000000,"by":"0195f3a0c00070008000000000000001",'
    b'"chain":"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",'
    b'"kind":"check_recorded","kv":1,'
    b'"payload":{"as_found":["0.4 C"],"check":"0195f3a0c0007000800000000000000a"},'
    b'"prev":"15d4edc19a235f8c3293fa06ed23f79675622fbc7197c48a12aeb02a6ce1ef92","seq":1,"v":1}'
)
