// Asks the device for a passkey, and puts what it answers into the page's own form, which is sent as any
// other. Where the browser knows no passkeys, nothing that offers one is shown.
// @ts-check
/** @param {string} text */
const octets = (text) =>
  Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (one) => one.charCodeAt(0));
/** @param {ArrayBuffer | null} data */
const text = (data) =>
  btoa(String.fromCharCode(...new Uint8Array(data ?? new ArrayBuffer(0))))
    .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

/** What a device answers, by fields. @param {any} asked @returns {Promise<Record<string, string>>} */
async function answered(asked) {
  const publicKey = { ...asked, challenge: octets(asked.challenge) };
  for (const one of asked.excludeCredentials ?? []) one.id = octets(one.id);
  if (asked.user) publicKey.user = { ...asked.user, id: octets(asked.user.id) };
  const keys = navigator.credentials;
  const found = await (asked.user ? keys.create({ publicKey }) : keys.get({ publicKey }));
  const { response, id } = /** @type {any} */ (found);
  const [client, data] = [response.clientDataJSON, response.attestationObject ?? response.authenticatorData];
  return { id, client: text(client), data: text(data), signature: text(response.signature), whose: text(response.userHandle) };
}

/** @param {HTMLFormElement} form */
async function ask(form) {
  form.hidden = true;
  try {
    const found = await answered(JSON.parse(form.dataset.asked ?? ""));
    for (const [name, value] of Object.entries(found)) form.querySelector(`[name=${name}]`)?.setAttribute("value", value);
    form.submit();
  } catch {
    form.hidden = false;
    document.getElementById("vain")?.removeAttribute("hidden");
  }
}

if ("PublicKeyCredential" in window) document.querySelector("[data-passkeys]")?.removeAttribute("hidden");
const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form[data-asked]"));
form?.querySelector("button")?.addEventListener("click", () => void ask(form));
if (form) void ask(form);
