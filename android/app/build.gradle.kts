// Not exercised where the project's tests run: see settings.gradle.kts.
plugins {
    id("com.android.application")
    id("org.jetbrains.kotlin.android")
}

/** Libraries of the core for the processors that phones have, by cargo-ndk; pages of 16 KiB. */
val libraries = tasks.register<Exec>("coreLibraries") {
    workingDir = rootDir.parentFile
    environment("RUSTFLAGS", "-C link-arg=-Wl,-z,max-page-size=16384")
    environment("CARGO_COMMAND", "cargo ndk -t arm64-v8a -t x86_64 -P 26 -o android/app/build/core-libraries")
    commandLine("bash", "rust-core/bindings/build-library", "cdylib", "phone")
}

/** The Kotlin of the core, from the library built for this machine. */
val kotlinOfCore = tasks.register<Exec>("coreKotlin") {
    workingDir = rootDir.parentFile
    commandLine(
        "sh", "-c",
        "rust-core/bindings/build-library cdylib dev -q && cargo run -q --locked --manifest-path " +
            "rust-core/bindings/bindgen/Cargo.toml --bin bindgen -- generate " +
            "target/debug/libleafturn_phone.so --language kotlin --no-format --out-dir android/app/build/core-kotlin",
    )
}

android {
    namespace = "leafturn.phone"
    compileSdk = 35
    defaultConfig {
        applicationId = "leafturn.phone"
        minSdk = 26
        targetSdk = 35
        versionCode = 1
        versionName = "0.1.0"
    }
    buildTypes {
        release {
            isMinifyEnabled = true
            isShrinkResources = true
            proguardFiles(getDefaultProguardFile("proguard-android-optimize.txt"), "keep.pro")
        }
    }
    sourceSets["main"].apply {
        kotlin.srcDir("build/core-kotlin")
        jniLibs.srcDir("build/core-libraries")
    }
    compileOptions {
        sourceCompatibility = JavaVersion.VERSION_17
        targetCompatibility = JavaVersion.VERSION_17
    }
}

kotlin {
    jvmToolchain(17)
}

tasks.named("preBuild") {
    dependsOn(libraries, kotlinOfCore)
}

dependencies {
    implementation("net.java.dev.jna:jna:5.17.0@aar")
}
