// The code may come behind # in the address, where no server sees it.

const code = decodeURIComponent(location.hash.slice(1));
if (/^[0-9A-Za-z-]{8,9}$/.test(code)) {
  document.getElementById("code").value = code;
  history.replaceState(null, "", location.pathname);
  document.getElementById("name").focus();
}
