package leafturn.phone.device

import android.content.Context
import android.security.keystore.KeyGenParameterSpec
import android.security.keystore.KeyProperties
import android.util.Base64
import java.security.KeyStore
import javax.crypto.Cipher
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.GCMParameterSpec

/** Keeps the token that this phone shows to its station. */
interface Vault {
    var token: String?
}

/** Keeps it sealed under a key that never leaves the system's key store. */
class KeyStoreVault(context: Context) : Vault {
    private val kept = context.getSharedPreferences("vault", Context.MODE_PRIVATE)

    override var token: String?
        get() = kept.getString(NAME, null)?.let(::unsealed)
        set(value) = kept.edit().putString(NAME, value?.let(::sealed)).apply()

    private fun sealed(text: String): String {
        val cipher = Cipher.getInstance(CIPHER).apply { init(Cipher.ENCRYPT_MODE, key()) }
        return Base64.encodeToString(cipher.iv + cipher.doFinal(text.toByteArray()), Base64.NO_WRAP)
    }

    private fun unsealed(text: String): String? = runCatching {
        val octets = Base64.decode(text, Base64.NO_WRAP)
        val opening = GCMParameterSpec(TAG_BITS, octets, 0, IV_OCTETS)
        val cipher = Cipher.getInstance(CIPHER).apply { init(Cipher.DECRYPT_MODE, key(), opening) }
        String(cipher.doFinal(octets, IV_OCTETS, octets.size - IV_OCTETS))
    }.getOrNull()

    private fun key(): SecretKey {
        val store = KeyStore.getInstance(STORE).apply { load(null) }
        (store.getKey(NAME, null) as? SecretKey)?.let { return it }
        val purposes = KeyProperties.PURPOSE_ENCRYPT or KeyProperties.PURPOSE_DECRYPT
        val spec = KeyGenParameterSpec.Builder(NAME, purposes)
            .setBlockModes(KeyProperties.BLOCK_MODE_GCM)
            .setEncryptionPaddings(KeyProperties.ENCRYPTION_PADDING_NONE)
            .build()
        return KeyGenerator.getInstance(KeyProperties.KEY_ALGORITHM_AES, STORE).apply { init(spec) }.generateKey()
    }

    private companion object {
        const val NAME = "station-token"
        const val STORE = "AndroidKeyStore"
        const val CIPHER = "AES/GCM/NoPadding"
        const val IV_OCTETS = 12
        const val TAG_BITS = 128
    }
}
