package leafturn.phone

import leafturn.phone.device.Vault
import leafturn.phone.send.Wire

/** The app as tests run it: the token in memory, for a JVM has no key store of the system, and a station on this machine. */
class TestApp : LeafturnApp() {
    override fun makeVault() = object : Vault {
        override var token: String? = null
    }

    override fun cleartext() = Wire.Cleartext.LOOPBACK
}
